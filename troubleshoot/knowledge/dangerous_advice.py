"""Advice that no tree may give, whatever cautions stand beside it: flames, bridged guards, a hand as a spark gap.

Facts of the trade (common practice, no source). A sentence that forbids the same thing passes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

RUNNING = frozenset({"cranking", "cold start", "idle", "held speed", "under load"})
"""Engine states in which something turns."""

_BY_ITSELF = RUNNING - {"cranking"}
_NEGATED = re.compile(
    r"\b(?:never|not|no|don't|nothing|nobody|none|without|instead of|clear of|away from|neither|nor)\b"
)
_NEW_ORDER = re.compile(
    r"[,:]\s*(?:then |and |but )?(?:hold|use|strike|take|put|spray|light|run|pull|move|wave|let|drive|open|repeat)\b"
)


@dataclass(frozen=True)
class Refused:
    """One kind of dangerous advice: what it is, what to do in its place, and where it counts."""

    code: str
    what: str
    instead: str
    pattern: str
    states: frozenset[str] = frozenset()
    """Engine states of a check that it counts in; none given: everywhere."""
    unless: str = ""
    """Words that the whole record may carry, which make it safe."""
    planted: bool = False
    """It counts only where a fault is set for a class."""


_AIRING = "search with unlit gas, smoke or soapy water"
_CLOSED = "put it on a dyno or closed course"
_TESTER = "use a spark tester, clamped to ground, with the engine off while it is fitted"
_CAN = "catch it in a grounded metal can with a lid"
_DOWN = "engine off, pressure down and battery off before a line is opened"
_PLANT_OTHERWISE = "plant it another way, or say never: with the reason"

REFUSED = (
    Refused("flame", "this works with a flame or something that lights vapour", _AIRING,
            r"\bflames?\b|\blighters?\b|\bcandles?\b|\b(?:a|the|lit|wooden|burning) match\b|\bstrike (?:a|some) "
            r"(?:light|match)|\bmatches (?:to|along|round|near)\b|\btorch\b|\bblow ?lamps?\b|\bcigarettes?\b"
            r"|\bburning (?:rag|paper|stick|piece)|\bheat gun\b|\bbare bulb\b|\btrouble light\b"),
    Refused("volatile", "this puts something that burns where it can be lit", _AIRING,
            r"\bstart(?:ing)? (?:fluid|spray)\b|\bether\b|\b(?:brake|carb\w*|choke|contact) (?:cleaner|spray)\b"
            r"|\b(?:squirt|spray|dribble|pour|splash)\b[^.;:]{0,40}\b(?:gasoline|petrol|fuel)\b"),
    Refused("hot-work", "this welds, solders or grinds where fuel is near", "have it done off the car by a qualified"
            " welder, or with battery and controller off, fuel shielded and a fire watch",
            r"\b(?:weld|braze|grind)\b|\bsolder\b[^.;:]{0,40}\b(?:tank|rail|fuel)\b", unless="qualified welder"),
    Refused("fuse", "this takes a fuse's protection away", "fit the fuse that the circuit was made for",
            r"\b(?:nail|foil|coin|paper ?clip)\b[^.;:]{0,40}\bfuse|\bfuse\b[^.;:]{0,30}\b(?:foil|nail)\b"
            r"|\b(?:larger|bigger|stronger) fuse\b|\b\d+ a fuse in place\b"),
    Refused("sparks", "this makes sparks on purpose, or leaves a live wire bare", "use a meter, or a fused lead",
            r"\b(?:bare|unfused) (?:wire|lead)\b|\b(?:tap|touch|brush|strike|lay)\b[^.;:]{0,60}\bspark"
            r"|\b(?:wrench|spanner|screwdriver)\b[^.;:]{0,30}\bacross\b"
            r"|\b(?:bridge|short|jump)\b[^.;:]{0,30}\b(?:starter|solenoid)(?:'s)?\b"
            r"|\b(?:battery|post)\b[^.;:]{0,30}\boff\b[^.;:]{0,10}\bwhile (?:it|the engine) (?:idles|runs)"
            r"|\b(?:charge|thaw|jump)\b[^.;:]{0,20}\b(?:frozen|leaking) battery"),
    Refused("open-fuel", "fuel goes where it can burn", _CAN,
            r"\b(?:open|coffee|paint|plastic) (?:can|bucket|cup|bottle|pan|container)s?\b|\bbucket\b"
            r"|\b(?:drain|run|let|drip|pour)\b[^.;:]{0,40}\bon(?:to)? the (?:floor|ground)\b"),
    Refused("under-pressure", "this opens fuel that is under pressure", _DOWN,
            r"\b(?:crack|loosen|slacken|undo|open)\b[^.;:]{0,40}\b(?:fitting|line|hose|rail|joint|union)\b"
            r"[^.;:]{0,40}\b(?:running|idles|idling|cranks|cranking|squirts)\b"
            r"|\b(?:fuel|line|hose)\b[^.;:]{0,40}\bwith (?:a|your|the) (?:thumb|finger|hand)\b(?! pump)"),
    Refused("mouth", "this puts fuel in a mouth", "use a hand pump made for fuel",
            r"\bsuck\b|\bby mouth\b|\btaste\b|\bsiphon"),
    Refused("air-in-fuel", "this blows air into fuel", "use a hand pump, pressure down and battery off",
            r"\bcompressed air\b[^.;:]{0,40}\b(?:tank|line|rail)|\b(?:tank|line|rail)\b[^.;:]{0,40}\bcompressed air"),
    Refused("dead-head", "this shuts a fuel line under the pump", "name the rating (rated for) and when to let go",
            r"\b(?:pinch|clamp|block|plug)\b[^.;:]{0,30}\b(?:return|supply|pressure (?:line|hose))\b",
            unless=r"rated for.*let go|let go.*rated for"),
    Refused("makeshift", "this leaves fuel behind a makeshift", "fit hose and clamps rated for injection",
            r"\b(?:vacuum|heater|garden) hose\b[^.;:]{0,30}\b(?:pressure side|fuel)\b|\btape\b[^.;:]{0,20}\bleak"
            r"|\bdrive\b[^.;:]{0,30}\bcap\b"),
    Refused("live-secondary", "this puts a hand or a tool on live secondary voltage", _TESTER,
            r"\b(?:fingers?|knuckles?|thumbs?)\b[^.;:]{0,40}\b(?:gap|spark|plug|lead|coil)"
            r"|\b(?:hold|grip|lay|feel|touch|(?<!back-)probe)\b[^.;:]{0,25}"
            r"\b(?:leads?|plug leads?|plug on|coil tower|secondary)\b(?![^.;:]{0,30}\btester)"
            r"|\b(?:pull|lift|take)\b[^.;:]{0,25}\bleads?\b[^.;:]{0,50}\b(?:idl|runn)"
            r"|\bscrewdriver\b[^.;:]{0,40}\b(?:coil|tower|plug|lead|terminal)"
            r"|\b(?:short|tap|ground|bridge)\b[^.;:]{0,50}\bcapacitor box"),
    Refused("guard", "this defeats a guard", "leave every guard and safety switch in place",
            r"\b(?:take|remove|leave|unbolt|wedge|bridge|bypass|defeat|jump|tie)\b[^.;:]{0,30}"
            r"\b(?:shroud|guard|shield|safety switch|interlock|inertia switch|cut-off)\b"),
    Refused("into-moving", "this puts a hand or a face where something turns or spits", "stop the engine first, or look"
            " from the side at an arm's length",
            r"\b(?:feel|touch|press)\b[^.;:]{0,30}\bbelt|\breach\b[^.;:]{0,20}\b(?:into|over)\b"
            r"|\bcover\b[^.;:]{0,30}\b(?:bores?|inlet|throttle body)\b[^.;:]{0,20}\b(?:hand|palm)"
            r"|\blean over\b", states=RUNNING),
    Refused("into-moving", "this looks into an engine that can spit back", "look from the side, or engine still",
            r"\b(?:look|peer)\b[^.;:]{0,12}\b(?:down|into|over)\b[^.;:]{0,15}\b(?:bores?|throttle body)",
            states=RUNNING),
    Refused("into-moving", "nobody stands beside an engine at this speed", "read it from the seat",
            r"\b(?:light|damper)\b[^.;:]{0,50}\b(?:3[1-9]\d\d|[4-9]\d{3}) ?rpm", states=RUNNING),
    Refused("runaway", "this holds a throttle open on a running engine", "let a foot hold it, that can let go",
            r"\b(?:tie|wedge|wire|prop|block)\b[^.;:]{0,20}\bthrottle\b[^.;:]{0,20}\bopen", states=_BY_ITSELF),
    Refused("under-car", "this puts someone under a car that runs, or that nothing holds", "rated stands, engine off,"
            " out from under it before the key goes on",
            r"\bon (?:a|the) jack\b(?! stand)|\bbricks?\b|\bblocks? under\b"),
    Refused("under-car", "this puts someone under a car that runs", "come out from under it before the key goes on",
            r"\bunder (?:the car|it)\b", states=RUNNING, unless="nobody (?:is )?under|out from under"),
    Refused("scald", "this opens hot coolant", "wait until the hose is soft and cool",
            r"\b(?:open|take|remove|loosen)\b[^.;:]{0,25}\bcap\b[^.;:]{0,40}\b(?:hot|boil\w*|warm)\b"),
    Refused("gas", "this breathes exhaust gas", "outdoors, or with the exhaust led outside",
            r"\b(?:shut|closed?)\b[^.;:]{0,15}\b(?:garage|workshop)|\bnose\b[^.;:]{0,20}\b(?:pipe|exhaust)"
            r"|\b(?:smell|sniff)\b[^.;:]{0,20}\bthe (?:tail ?pipe|exhaust)\b"),
    Refused("road", "full load belongs on a dyno or closed course", _CLOSED,
            r"\bwhere the law allows\b|\b(?:motorway|highway|street|freeway)\b|(?:^|and |then )floor it\b"),
    Refused("road", "full load belongs on a dyno or closed course", _CLOSED,
            r"\bfull[- ](?:throttle|load)\b|\bwide open\b|\bfloored\b|\bpulls? (?:through|in (?:second|third))",
            states=frozenset({"under load"}), unless=r"\bdyno\b|closed course"),
    Refused("road", "this repeats what breaks pistons", "lift off at once, and do not repeat it",
            r"\brepeat\b[^.;:]{0,30}\b(?:lean|pull|run|full)"),
    Refused("road", "nobody who drives reads a gauge, or drives on bad brakes", "a helper reads; brakes are proved"
            " before the car moves",
            r"\bgauge\b[^.;:]{0,20}\blap\b|\b(?:pinch|clamp|plug)\b[^.;:]{0,30}\bbooster\b[^.;:]{0,20}\bdrive\b"),
    Refused("unsafe-plant", "this plant leaks fuel or shuts a fuel line", _PLANT_OTHERWISE,
            r"\b(?:loosen|slacken|crack|open|cut|nick|puncture|drill|drip|leak)\b[^.;:]{0,30}"
            r"\b(?:fuel|rail|pressure line|return line|fitting)\b"
            r"|\b(?:fuel|petrol|gasoline)\b[^.;:]{0,20}\b(?:leak|drip|spill|pour)s?\b"
            r"|\b(?:pinch|clamp)\b[^.;:]{0,20}\b(?:return|fuel|pressure)\b"
            r"|\b(?:back|wind|screw|turn)\b[^.;:]{0,20}\bregulator\b", planted=True),
    Refused("unsafe-plant", "this plant runs an engine lean or over-advanced under load", _PLANT_OTHERWISE,
            r"\b(?:take|cut|remove|less)\b[^.;:]{0,40}\b(?:high|top|full)\b[^.;:]{0,15}\b(?:cells?|table|fuel|load)\b"
            r"|\b(?:send|let)\b[^.;:]{0,25}\b(?:drive|driven)\b", planted=True),
    Refused("unsafe-plant", "this plant damages what somebody will touch or trust", _PLANT_OTHERWISE,
            r"\b(?:scratch|cut|nick|pierce|prick)\b[^.;:]{0,30}\b(?:lead|hose|line|wire)\b(?! away)"
            r"|\breturn springs?\b|\b(?:rags?|cardboard|card|cloth)\b[^.;:]{0,40}"
            r"\b(?:inlet|intake|air cleaner|bores?|radiator|element)\b", planted=True),
    Refused("unsafe-plant", "this plant meddles with the brakes", _PLANT_OTHERWISE,
            r"\b(?:remove|disconnect|disable|drain|clamp|cap|plug|loosen|open|block|pinch|unhook|pull)\b[^.;:]{0,30}"
            r"\b(?:brakes?|brake (?:line|hose|booster)|booster hose|servo hose)\b", planted=True),
)  # fmt: skip


def dangers(texts: Sequence[str], state: str = "", planted: bool = False) -> Iterator[tuple[int, Refused]]:
    """Yield the place of each text that gives dangerous advice, and what it is; `texts` are those of one record."""
    whole = " ".join(texts).lower()
    for place, text in enumerate(texts):
        plain = text.lower()
        for refused in REFUSED:
            counts = (not refused.states or state in refused.states) and (planted or not refused.planted)
            if counts and said(refused.pattern, plain) and not (refused.unless and re.search(refused.unless, whole)):
                yield place, refused


def said(pattern: str, text: str) -> bool:
    """Return whether a text says something and does not forbid it in the words before, in the same sentence.

    >>> said("flame", "never a flame."), said("flame", "not so bad: take a flame.")
    (False, True)
    """
    return any(not _forbidden(text, found.start()) for found in _compiled(pattern).finditer(text))


def _forbidden(text: str, start: int) -> bool:
    """Return whether the words before forbid what begins at `start`: a negation with no new order after it."""
    before = re.split(r"[.;:!?](?:\s|$)", text[:start])[-1]
    after = text[start : start + 40]
    negated = list(_NEGATED.finditer(before))
    if negated:
        return not _NEW_ORDER.search(before[negated[-1].end() :] + after.split(" ")[0])
    return bool(re.match(r"\w+ (?:no|nothing|none)\b", after))


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern)
