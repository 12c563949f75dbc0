"""The record of everything the trees say; `catalogue` loads it."""

from __future__ import annotations

from collections.abc import Hashable
from functools import cached_property
from typing import TYPE_CHECKING

from msgspec import Struct, field

from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.model import Cause, Caution, Check, Concern, HealthyCar, Setup, Tool, WorkedCase

if TYPE_CHECKING:
    from troubleshoot.knowledge.signatures import Signatures
    from troubleshoot.reasoning.problem import Problem


class Catalogue(Struct, frozen=True, kw_only=True, dict=True):
    """Everything the trees say, indexed by id; `version` is a hash of the files' content."""

    concerns: dict[str, Concern] = field(default_factory=dict)
    causes: dict[str, Cause] = field(default_factory=dict)
    checks: dict[str, Check] = field(default_factory=dict)
    cautions: dict[str, Caution] = field(default_factory=dict)
    setups: dict[str, Setup] = field(default_factory=dict)
    tools: dict[str, Tool] = field(default_factory=dict)
    cars: dict[str, Car] = field(default_factory=dict)
    cases: dict[str, tuple[WorkedCase, ...]] = field(default_factory=dict)
    healthy: dict[str, HealthyCar] = field(default_factory=dict)
    version: str = ""
    own_overrides: tuple[str, ...] = ()
    faults: tuple[Finding, ...] = ()

    @cached_property
    def signatures(self) -> Signatures:
        """The distributions of the checks, each worked out once for all problems that are compiled."""
        from troubleshoot.knowledge.signatures import Signatures

        return Signatures(self.checks, self.causes)

    @cached_property
    def problems(self) -> dict[Hashable, Problem]:
        """The problems that were compiled last, by all they were compiled from; `compiling` fills it."""
        return {}
