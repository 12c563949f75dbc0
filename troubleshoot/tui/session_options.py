"""What may be answered at each step of a case, as rows to choose from."""

from __future__ import annotations

from troubleshoot.case.view import CaseView
from troubleshoot.tui.widgets.numbered import Row

RETESTS = (
    Row("retest gone", "Gone: the concern does not come back"),
    Row("retest partly", "Partly: better, not gone"),
    Row("retest still", "Still there, as before"),
)
OTHERS = Row("others", "Choose another check")
FINISHES = (
    Row("proved", "Proved", under="repaired, tested again, and the concern is gone"),
    Row("referred", "Referred", under="handed on to someone with other means"),
    Row("left", "Left", under="nothing wrong found, or not gone on with"),
)

AT_STEP: dict[str, tuple[Row, ...]] = {
    "caution": (Row("caution", "Read the caution"), OTHERS),
    "repair": (Row("repair", "I have made this repair"), Row("others", "Do a check first")),
    "retest": RETESTS,
    "refer": (Row("refer", "Close the case and refer it"), OTHERS, Row("repaired", "I have repaired something")),
    "healthy": (Row("left", "Close the case"), OTHERS),
    "closed": (Row("report", "See the report, write it to a file"), Row("back", "Go to the start")),
    "concern": (Row("concern", "Say what the car does"),),
}


def wants_quantity(view: CaseView) -> bool:
    """Return whether the step asks for a number."""
    check = view.step.check
    return view.step.kind == "check" and check is not None and bool(check.unit)


def rows_for(view: CaseView) -> tuple[Row, ...]:
    """Return the rows of a step: the outcomes of a check that is seen, or what may be done next."""
    step = view.step
    if step.kind == "check" and step.check is not None:
        return tuple(Row(f"answer {choice.outcome}", choice.words) for choice in step.check.choices)
    if step.kind == "retest":
        measure = (Row("measure", f"Measure it: {step.measure[1]}"),) if step.measure else ()
        if gone(view):
            sure = Row("others", "Do another check to be sure")
            return (Row("proved", "Close the case as proved"), *measure, sure)
        return (*RETESTS, *measure)
    return AT_STEP.get(step.kind, (OTHERS,))


def first_marked(view: CaseView) -> int:
    """Return the row marked to begin with: none where the answer is evidence, else the first."""
    return -1 if view.step.kind in {"check", "retest"} and not gone(view) else 0


def gone(view: CaseView) -> bool:
    """Return whether the last thing done was a retest that found the concern gone."""
    return view.step.kind == "retest" and view.step.proved
