"""The errors of a calculation: a value that has no answer, a name that is not in the list."""

from troubleshoot.problems import TroubleshootError


class CalculationRefused(TroubleshootError, ValueError):
    """A calculation has no answer for these values; says which field, its value and what is allowed."""

    def __init__(self, field: str, value: str, allowed: str, sentence: str, advice: str = "") -> None:
        super().__init__(sentence, advice)
        self.field = field
        self.value = value
        self.allowed = allowed


class UnknownCalculation(TroubleshootError, KeyError):
    """No calculation has that name; offers the nearest spelling."""

    def __str__(self) -> str:
        """Return the words, not the quoted form a KeyError would give."""
        return TroubleshootError.__str__(self)


def cannot(parameter: str, sentence: str, allowed: str = "") -> CalculationRefused:
    """Make the refusal a formula raises; the value is filled in by the calculation, which knows it as typed."""
    return CalculationRefused(parameter.rstrip("_").replace("_", "-"), "", allowed, sentence)
