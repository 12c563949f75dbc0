"""The one base of every error a person may see: a sentence and what to do about it."""

from __future__ import annotations


class TroubleshootError(Exception):
    """Something a person can act on; faces print `sentence` and `remedy`, never a traceback."""

    exit_code = 2

    def __init__(self, sentence: str, remedy: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.remedy = remedy

    def __str__(self) -> str:
        """Return the sentence, followed by the remedy when there is one."""
        return f"{self.sentence} {self.remedy}".strip()
