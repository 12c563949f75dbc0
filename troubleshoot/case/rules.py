"""What may be done in a case and what is shown of it: at a car everything; drills bring rules of their own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.errors import NotNow
from troubleshoot.case.events import Event, OfDrill
from troubleshoot.case.view import CaseView


class Rules(Protocol):
    """What a case asks before anything happens in it and before anything of it is shown; `so_far` are its events."""

    def written(self, event: Event, so_far: Sequence[Event], seen: Assessment) -> tuple[Event, ...]:
        """Return what is written when a person does this; NotNow, or another refusal, when it may not be done.

        The event says when; what is written beside it may leave that to the case.
        """

    def shows_ranking(self, so_far: Sequence[Event]) -> bool:
        """Return whether what is likely may be seen now."""

    def shown(self, view: CaseView, so_far: Sequence[Event]) -> CaseView:
        """Return of a view what a person may see."""


class AtACar:
    """A person repairs a car: everything may be done and seen."""

    def written(self, event: Event, so_far: Sequence[Event], seen: Assessment) -> tuple[Event, ...]:  # noqa: ARG002
        """Return the event itself; NotNow for what belongs to a drill."""
        if isinstance(event, OfDrill):
            raise NotNow("This is no drill.", "Begin one with: troubleshoot practise.")
        return (event,)

    def shows_ranking(self, so_far: Sequence[Event]) -> bool:  # noqa: ARG002
        """Return True."""
        return True

    def shown(self, view: CaseView, so_far: Sequence[Event]) -> CaseView:  # noqa: ARG002
        """Return all of the view."""
        return view
