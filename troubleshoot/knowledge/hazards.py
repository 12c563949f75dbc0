"""Which cautions follow from what is done: the engine's state, what is opened, what is live, where the hands are."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping

from troubleshoot.knowledge.dangerous_advice import RUNNING, said
from troubleshoot.knowledge.model import Caution, Check, Conditions, Needed, Setup

OPENS_SAID = {
    "fuel line": r"\blet the pressure down\b|\bpressure (?:is )?let down\b|\btee\b[^.;:]{0,40}\bgauge"
    r"|\bgauge\b[^.;:]{0,20}\bteed\b|\bfilter off\b"
    r"|\b(?:take|pull|undo)\b[^.;:]{0,25}\bhose off the (?:rail|pump|filter|regulator)",
    "tank": r"\btank cap\b|\bfiller (?:cap|neck)\b|\bhand pump made for fuel\b",
    "intake": r"\bair cleaner(?: lid)? off\b|\b(?:down|over) the bores\b",
    "cylinder": r"\bplugs? out\b",
    "exhaust": r"\btake the (?:oxygen )?sensor out\b",
}  # fmt: skip
"""Words in which a check says that it opens something, which it then declares."""

REPAIR_OPENS = (
    r"\b(?:replace|renew|clean|fit|change|new|swap|take out|remove)\b[^.;:]{0,30}"
    r"\b(?:(?<!air )filter|strainer|fuel pump|pump(?! (?:current|ground|wire|feed|relay))|regulator"
    r"|injectors?(?! (?:wire|feed|plug|pulse))|fuel (?:hose|line))\b"
)
"""Words in which a repair of the fuel system opens a line."""

LIVE_SAID = {
    "secondary": r"\btiming light\b|\bspark tester\b|\badjustable tester\b|\binductive\b",
    "battery": r"\bbattery (?:plus|minus)\b|\bbattery posts?\b|\bthe posts\b|\bbattery('s)? (?:minus|plus) post\b",
}
HANDS_SAID = {
    "under the car": r"\bon stands\b|\bunder the car\b(?! )|\bgo(?:ing)? below\b",
    "engine bay": r"\bback-probe\b|\bat the distributor\b",
}
STARTS_SAID = {
    "cranking": r"(?:^|[.;,] |\bthen |\band )(?:crank|cranks)\b",
    "idle": r"(?:^|[.;,] |\bthen |\band )(?:start (?:it|the engine|again)|let it idle|hold \d+ rpm|rev it|blip)\b",
}
"""Words in which a check starts the engine; its state then says so."""


def needs(
    caution: Caution, state: str, hands: Collection[str], opens: Collection[str], live: Collection[str]
) -> Needed | None:
    """Return the rule by which this caution must stand, if one holds."""
    for rule in caution.needed:
        parts: tuple[tuple[Collection[str], Collection[str]], ...] = (
            (rule.state, (state,)), (rule.hands, hands), (rule.opens, opens), (rule.live, live),
        )  # fmt: skip
        given = [(wanted, have) for wanted, have in parts if wanted]
        if given and all(set(wanted) & set(have) for wanted, have in given):
            return rule
    return None


def cautions_needed(check: Check, setup: Setup | None, cautions: Mapping[str, Caution]) -> Iterator[tuple[str, str]]:
    """Yield each caution that must stand beside a check, and what brings it with it.

    What its set-up opened or made live stays so during the check; how the set-up is made counts by itself.
    """
    opens = {*check.opens, *(setup.opens if setup else ())}
    live = {*check.live, *(setup.live if setup else ())}
    for name, caution in cautions.items():
        if _apart(check.for_, caution.for_):
            continue
        rule = needs(caution, check.state, check.hands, opens, live)
        if rule is None and setup is not None:
            rule = needs(caution, setup.state, setup.hands, setup.opens, setup.live)
        if rule is not None:
            yield name, _in_words(rule, check)


def _apart(one: Conditions, other: Conditions) -> bool:
    """Return whether no car fits both conditions."""
    return any(
        field in one and not set(map(str, values)) & set(map(str, one[field])) for field, values in other.items()
    )


def _in_words(rule: Needed, check: Check) -> str:
    parts = [str(check.state)] if check.state in rule.state else []
    parts += [f"hands: {one}" for one in check.hands if one in rule.hands]
    parts += [f"open: {one}" for one in check.opens if one in rule.opens]
    parts += [f"live: {one}" for one in check.live if one in rule.live]
    return ", ".join(parts) if parts else "its set-up"


def opens_running(check: Check, setup: Setup | None, shut: Collection[str]) -> bool:
    """Return whether a check opens, while the engine turns, something that must stay shut."""
    return check.state in RUNNING and bool({*check.opens, *(setup.opens if setup else ())} & set(shut))


def not_declared(check: Check, setup: Setup | None) -> Iterator[tuple[str, str]]:
    """Yield the field and value that a check's own words say and its declarations leave out."""
    text = " ".join(check.do).lower()
    near = {"at the tank", "at the exhaust", "under the car"}
    have: dict[str, set[str]] = {
        "opens": {*check.opens, *(setup.opens if setup else ())},
        "live": {*check.live, *(setup.live if setup else ())},
        "hands": {*check.hands, *(setup.hands if setup else ())},
    }
    if near & have["hands"]:
        have["hands"].add("engine bay")
    for field, table in (("opens", OPENS_SAID), ("live", LIVE_SAID), ("hands", HANDS_SAID)):
        for value, pattern in table.items():
            if value not in have[field] and said(pattern, text):
                yield field, value


def runs_before(words: list[str]) -> bool:
    """Return whether words run the engine before what is read with it still."""
    return said(r"(?:^|[.;,] |\bthen )run (?:it|the engine)\b", " ".join(words).lower())


def started(words: list[str], state: str) -> str | None:
    """Return the engine state that words bring about and the declared state hides."""
    text = " ".join(words).lower()
    quiet = {"cranking": ("key off", "key on"), "idle": ("key off", "key on", "cranking")}
    for really, pattern in STARTS_SAID.items():
        if state in quiet[really] and re.search(pattern, text) and said(pattern, text):
            return really
    return None
