"""The curve of a calculation."""

from __future__ import annotations

from textual.widget import Widget

from troubleshoot.calculations.definition import Calculation
from troubleshoot.tui.calculation_form import Entered


def chart_of(calculation: Calculation, given: Entered, system: str) -> Widget | None:
    """Return the curve of a calculation with what was entered; None when it has none."""
    return None
