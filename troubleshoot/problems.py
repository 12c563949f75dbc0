"""The one base of every error a person may see: a sentence and what to do about it."""

from __future__ import annotations


class TroubleshootError(Exception):
    """Something a person can act on; faces print `sentence` and `advice`, never a traceback."""

    exit_code = 2

    def __init__(self, sentence: str, advice: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.advice = advice

    def __str__(self) -> str:
        """Return the sentence, followed by the advice when there is any."""
        return f"{self.sentence} {self.advice}".strip()
