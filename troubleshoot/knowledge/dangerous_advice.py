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
_SENTENCE_END = re.compile(r"[.;:!?](?:\s|$)")
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
    spared: str = ""
    """Words that make one sentence safe."""
    planted: bool = False
    """It counts only where a fault is set for a class."""


_AIRING = "search with unlit gas, smoke or soapy water"
_CLOSED = "put it on a dyno or closed course"
_TESTER = "use a spark tester, clamped to ground, with the engine off while it is fitted"
_CAN = "catch it in a grounded metal can with a lid"
_DOWN = "engine off, pressure down and battery off before a line is opened"
_PLANT_OTHERWISE = "plant it another way, or say never: with the reason"

# Words that stand for one thing each, however an author says it; a rule is made of them.
_GAP = r"(?:(?!\b(?:clear|away|off the|out of)\b)[^.;:]){0,45}"
"""What may stand between two words of a rule in one sentence; "clear of" and "away from" turn it round."""
_SPARK = r"(?:plug|coil|spark|king|ignition|ht|secondary)"
_LEAD = (
    rf"(?:{_SPARK} (?:leads?|wires?|boots?|caps?|cables?)|leads?|boots?"
    r"|coil tower|tower|secondary|plug on)"
)
_BODY = r"(?:fingers?|fingertips?|knuckles?|thumbs?|(?<!at )(?<!by )hands?|palms?|arms?|elbows?|tongue|lips)"
_FUEL_PART = r"(?:fitting|line|hose|rail|joint|union|nut|banjo|connection|injectors?)"
_PUMPING = (
    r"(?:running|runs|idles|idling|cranks?|cranking|squirts?|humming|hums|primed?|primes|pump on|sprays?|jet"
    r"|under pressure)"
)
_VESSEL = (
    r"(?:bucket|pail|cup|mug|bowl|basin|jar|jug|bottle(?! jack)|tub|saucer|(?<!oil )(?<!drip )pan"
    r"|(?:open|coffee|paint|plastic|tin|beer|soup) (?:can|container|box))s?"
)
_FULL = (
    r"(?:full[- ](?:throttle|load|bore)|wide open|floored|flat out|foot (?:in it|down|to the floor)"
    r"|pedal to the (?:floor|metal)|nail it|gun it|pulls? (?:through|in (?:second|third)))"
)
_PAST = r"(?:remove|leave|unbolt|wedge|bridge|bypass|defeat|jump(?:er)?|tie|fool|cheat|override|loop|cut|snip|short)"

_DEVICE = (
    r"(?:shroud|guard|(?:the|fan|belt|splash) shield|belt cover|interlock|cut-?(?:off|out)|inertia "
    r"(?:switch|cut-?off)"
    r"|(?:safety|crash|neutral|clutch|oil[- ]pressure|roll-?over|kill) (?:switch|catch|valve))"
)
_OFF = r"(?:unhook|off|out|loose|pull|yank|tug|lift|take|remove|undo|whack|slip|pop|disconnect)"

BY_THINGS = (
    Refused("under-pressure", "a valve that holds fuel at pressure is pressed open", _DOWN,
            r"\b(?:press|push|poke)\b[^.;:]{0,20}\b(?:service|test) valve\b"),
    Refused("mouth", "this puts a mouth to what holds fuel or vapour", "use a hand pump made for fuel",
            r"\bblow\b[^.;:]{0,20}\b(?:through|into|down)\b", spared=r"\bhand pump\b"),
    Refused("makeshift", "the tank's cap is left loose to see what it does", "park, engine off, listen at the cap",
            r"\b(?:loosen|slacken|leave)\b[^.;:]{0,20}\b(?:tank|fuel|filler)? ?cap\b[^.;:]{0,25}"
            r"\b(?:see|go|drive|try|off)\b"),
    Refused("live-secondary", "a hand or a tool is on the secondary while it is live", _TESTER,
            rf"\b(?:{_SPARK} "
            rf"(?:leads?|wires?|boots?|caps?|cables?)|boots?|coil tower|each lead|the plug)\b", states=RUNNING,
            spared=r"\btester|\binductive|\bclamp|\blight\b|\bprobe|\blisten|\bdark\b|\bmeter\b|\bpickup\b"
            r"|\bkeep\b|\bsound\b"),
    Refused("into-moving", "a hand or a tool is at what turns", "stop the engine first",
            r"\b(?:belts?|fan|pulleys?)\b", states=RUNNING,
            spared=r"\b(?:clear|away|side|starts?|comes on|runs|switch\w*|loads?|on|keep|in place)\b"),
    Refused("sparks", "a battery cable comes off while the engine runs", "measure the charging volts with a meter",
            rf"\b(?:battery|earth|ground|negative|positive) (?:cables?|leads?|straps?|clamps?|posts?)\b"
            rf"(?=[^.;:]*\b(?:running|runs|idles|idling|ticking over)\b)|\b{_OFF}\b[^.;:]{{0,20}}"
            r"\b(?:earth|battery|ground|negative) "
            r"(?:cables?|leads?|straps?|clamps?|as it|while it)\b", states=_BY_ITSELF,
            spared=r"\bmeter\b|\bvolts?\b|\blight\b"),
    Refused("sparks", "something is laid across the starter's terminals", "crank with the key, or by a fused switch",
            r"\bstarter(?:'s)? (?:posts?|terminals?|studs?)\b", spared=r"\bvolt|\bmeter|\bprobe|\b"
            r"(?:red|black) on\b|\bclean|\btight"),
    Refused("guard", "this takes away what protects somebody", "leave every guard and safety switch in place",
            rf"\b{_DEVICE}\b", spared=r"\b"
            r"(?:press|push|reset|look|test|see|whether|unplug|plug|fit|renew|replace|wire|feeds?"
            r"|lift the button|tripped|stop|stops|volts|ohms|bright|cuts?|must|tried|stands|it is a|in place)\b"),
    Refused("open-fuel", "fuel stands in something without a lid", _CAN,
            r"\b(?:fuel|petrol|gasoline|gas)\b[^.;:]{0,50}\b(?:tray|dish|tin|drum)\b"
            r"|\b(?:tray|dish|tin|drum)\b[^.;:]{0,50}\b(?:fuel|petrol|gasoline)\b"),
    Refused("volatile", "gasoline is used for something that it is not for", _AIRING,
            r"\b(?:gasoline|petrol|unleaded|white spirit|spirits?|kerosene|paraffin)\b",
            spared=r"\b(?:rated|hoses?|tank|engine|pump|smells?|can|gauge|station|vapou?r|old|fresh|new)\b"),
    Refused("open-fuel", "what comes out is caught in something without a lid", _CAN,
            r"\bcatch(?:es)?\b", spared=r"\b(?:can|rags?|lid|return|idle|throttle)\b"),
    Refused("makeshift", "this leaves fuel behind a makeshift", "fit hose and clamps rated for injection",
            r"\b(?:leaking|leaky|weeping|split|cracked) (?:hose|line|fitting|joint|tank|rail)\b",
            spared=r"\b(?:replace|renew|new|find|look|see|where|whether|is|shows?)\b"),
    Refused("scald", "this opens hot coolant", "wait until the hose is soft and cool",
            r"\b(?:radiator|rad|pressure|expansion|coolant)(?:'s)? cap\b", spared=r"\bcold\b|\bcool\b|\bsoft\b",
            states=RUNNING | {"after stop"}),
    Refused("gas", "this runs an engine indoors", "outdoors, or with the exhaust led outside",
            r"\b(?:indoors|inside|garage|workshop|shed|windows shut)\b", states=_BY_ITSELF,
            spared=r"\boutside\b|\bopen\b|\bexhaust\b|\bcar\b"),
    Refused("road", "nobody drives with the brake booster cut off", "brakes are proved before the car moves",
            r"\b(?:booster|servo)\b", states=frozenset({"under load"}),
            spared=r"\bengine (?:off|still)\b"),
    Refused("under-car", "this holds a car up on what crumbles", "rated stands at the maker's points",
            r"\b(?:concrete|cinder|breeze|wooden) blocks?\b|\b(?:stack|pile)s? of\b|\btimbers?\b|\blogs under\b"),
    Refused("under-car", "this puts someone under a car that runs", "come out from under it before the key goes on",
            r"\b(?:under|beneath|below|underneath) "
            r"(?:with|while|it|the car|her)\b", states=RUNNING, spared=r"\bnobody\b|\bout from\b"),
)  # fmt: skip
"""Refused wherever a thing is named that must be left alone then, unless the sentence says why it is harmless."""

REFUSED = (
    *BY_THINGS,
    Refused("flame", "this works with a flame or something that lights vapour", _AIRING,
            r"\bflames?\b|\blighters?\b|\bigniters?\b|\bcandles?\b|\b(?:a|the|lit|wooden|burning) match\b"
            r"|\bstrike (?:a|some) (?:light|match)|\bmatches (?:to|along|round|near)\b|\btorch(?:es)?\b"
            r"|\b(?:blow ?lamp|blow ?torch|burner|sparkler|stove)s?\b|\bbutane\b|\bcigar(?:ette)?s?\b|\bsmok"
            r"(?:e|ing) (?:a|one)\b"
            r"|\bburning (?:rag|paper|stick|piece)|(?:^|[.;:,] |\band |\bthen )light (?:a|the|it|up|some)\b"
            r"|\bset fire\b|\bburn (?:it|off|the (?:old|rest|fuel))\b|\bsoldering iron\b[^.;:]{0,30}\bline\b"
            r"|\bflares? up\b"
            r"|\bheat gun\b|\bbare bulb\b|\btrouble light\b"),
    Refused("volatile", "this puts something that burns where it can be lit", _AIRING,
            r"\bstart(?:ing)? (?:fluid|spray)\b|\b(?:easy|quick|instant)[- ]start\b|\bether\b|\b(?:in)?flammable\b"
            r"|\b(?:brake|carb\w*|choke|contact|throttle[- ]body) (?:cleaner|spray)\b|\b(?:solvent|thinner)s?\b"
            r"|\b(?:squirt|spray|dribble|pour|splash|trickle|tip|dump|shot of)(?:ping|ing)?\b[^.;:]{0,40}"
            r"\b(?:gasoline|(?<!unlit )gas|petrol|unleaded|fuel)\b(?! (?:can|gauge|line))|\b(?:brake|carb) wash\b"
            r"|\b(?:wet|spray|shoot|squirt|mist|douse)\b(?:(?!soap|water|unlit)[^.;:]){0,50}"
            r"\b(?:gaskets?|manifold|intake|base|hoses)\b(?![^.;:]{0,30}\b(?:soap|water))"),
    Refused("hot-work", "this welds, solders or grinds where fuel is near", "have it done off the car by a qualified"
            " welder, or with battery and controller off, fuel shielded and a fire watch",
            r"\b(?:weld|braze|grind)\b|\btack (?:the|a|it|on)\b|\bsolder\b[^.;:]{0,40}\b(?:tank|rail|fuel)\b",
            unless="qualified welder"),
    Refused("fuse", "this takes a fuse's protection away", "fit the fuse that the circuit was made for",
            r"\b(?:nail|foil|coin|paper ?clip|wool|strand)\b[^.;:]{0,40}\bfuse"
            r"|\bfuse\b[^.;:]{0,30}\b(?:foil|nail|wool)\b"
            r"|\b(?:larger|bigger|stronger|heavier) fuse\b|\b\d+ ?(?:a|amps?)\b[^.;:]{0,15}\bin place\b"
            r"|\b\d+[- ]?(?:a|amps?)\b[^.;:]{0,20}\bwhere the \d+|\b(?:bypass|bridge|jump)\b[^.;:]{0,15}\bfuse\b"
            r"|\b(?:swap|change|replace)\b[^.;:]{0,30}\bfuse for a\b"),
    Refused("sparks", "this makes sparks on purpose, or leaves a live wire bare", "use a meter, or a fused lead",
            r"\b(?:bare|unfused) (?:wire|lead)\b|\b(?:tap|touch|brush|strike|lay)\b[^.;:]{0,60}\bspark"
            r"|\bsparks? (?:is|are) normal\b|\b(?:wrench|spanner|screwdriver)\b[^.;:]{0,30}\bacross\b"
            r"|\b(?:bridge|short|jump|cross)\b[^.;:]{0,30}\b(?:starter|solenoid)(?:'s)?\b"
            r"|\b(?:battery|post|negative|positive|cable|clamp)\b[^.;:]{0,30}\b(?:off\b[^.;:]{0,10})?"
            r"\b(?:while|with) (?:it|it's|it is|the engine|the motor) ?(?:idles|runs|running)"
            r"|\b(?:charge|thaw|jump)\b[^.;:]{0,20}\b(?:frozen|leaking) battery"),
    Refused("sparks", "this makes the last joint of jump leads over battery gas", "the last clip goes to bare metal of"
            " the block, away from the battery",
            rf"\b(?:black|negative|minus|last|second)\b{_GAP}"
            r"\b(?:dead|flat|empty|discharged|weak)\b[^.;:]{0,12}\b(?:battery|one|negative)"),
    Refused("open-fuel", "fuel goes where it can burn", _CAN,
            rf"\b{_VESSEL}\b(?![^.;:]{{0,20}}\blid\b)"
            r"|\b(?:drain|run|let|drip|pour|spill|squirt|empty|dump|spit)\b[^.;:]{0,40}\b"
            r"(?:on|onto|over|down|out in)\b"
            r"[^.;:]{0,8}\b(?:floor|driveway|grass|gutter|drain|pavement|soil)\b"
            r"|\b(?:drain|run|let|drip|pour)\b[^.;:]{0,40}\bon(?:to)? the ground\b"),
    Refused("open-fuel", "this sprays fuel into open air", "leave the injectors in place; look from the side",
            r"\b(?:injectors?|rail)\b[^.;:]{0,60}\b(?:over the engine|into (?:the )?(?:open )?air|in"
            r"(?:to)? the open)\b"
            r"|\b(?:hang|dangle|pull)\b[^.;:]{0,20}\b(?:injectors|rail)\b[^.;:]{0,50}\b(?:crank|fire|spray|pulse)"),
    Refused("under-pressure", "this opens fuel that is under pressure", _DOWN,
            rf"\b(?:crack|loosen|slacken|undo|open|back|ease|break|unscrew)\b[^.;:]{{0,40}}\b{_FUEL_PART}\b"
            rf"[^.;:]{{0,40}}\b{_PUMPING}\b"
            r"|\b(?:fuel|line|hose)\b[^.;:]{0,40}\bwith (?:a|your|the) (?:thumb|finger|hand)\b(?! pump)"
            r"|\b(?:unplug|pull|take)\b[^.;:]{0,20}\bhose\b[^.;:]{0,30}\bpump (?:on|running)\b"
            r"|\bhose empty itself\b"),
    Refused("mouth", "this puts fuel in a mouth", "use a hand pump made for fuel",
            r"\bsuck\b|\b(?:by|your|with the) mouth\b|\blips\b|\btaste\b|\bs[iy]phon"),
    Refused("air-in-fuel", "this blows air into fuel", "use a hand pump, pressure down and battery off",
            r"\b(?:compressed air|air ?(?:line|gun|hose)|blow ?gun|(?:tyre|tire) pump)\b[^.;:]{0,60}"
            r"\b(?:tank|line|rail|filler)"
            r"|\b(?:tank|rail|line|filler)\b[^.;:]{0,40}\b(?:compressed air|air ?(?:line|gun))\b"),
    Refused("dead-head", "this shuts a fuel line under the pump", "name the rating (rated for) and when to let go",
            r"\b(?:pinch|clamp|block|plug|squeeze|fold|kink|crimp|nip|bend)\b[^.;:]{0,30}"
            r"\b(?:return|supply|pressure (?:line|hose)|fuel (?:line|hose))\b",
            unless=r"rated for.*let go|let go.*rated for"),
    Refused("makeshift", "this leaves fuel behind a makeshift", "fit hose and clamps rated for injection",
            r"\b(?:vacuum|heater|garden|washer|water|aquarium) (?:hose|tub(?:e|ing))\b[^.;:]{0,40}"
            r"\b(?:pressure side|fuel|pump|injectors?)\b|\btape\b[^.;:]{0,20}\bleak|\bleak\w*\b"
            r"[^.;:]{0,25}\btape\b|\bdrive\b[^.;:]{0,30}\bcap\b"
            r"|\b(?:silicone|epoxy|putty|glue|resin|gum|soap)\b[^.;:]{0,40}\b(?:fitting|rail|fuel|tank|leak|crack)"
            r"|\b(?:rail|fuel|tank|crack|weep\w*)\b[^.;:]{0,30}\b(?:silicone|epoxy|putty|glue|resin)\b"),
    Refused("live-secondary", "this puts a hand or a tool on live secondary voltage", _TESTER,
            rf"\b{_BODY}\b{_GAP}\b(?:gap|spark|plug|lead|coil|wires)"
            rf"|\b(?:hold|grip|grab|lay|feel|touch|dab|squeeze|(?<!back-)probe)\b[^.;:]{{0,25}}\b{_LEAD}\b"
            r"(?![^.;:]{0,30}\btester)"
            rf"|\b(?:pull|pop|lift|take|yank|slip)\b[^.;:]{{0,25}}\b{_LEAD}\b[^.;:]{{0,50}}\b(?:idl|runn|runs)"
            r"|\bscrewdriver\b[^.;:]{0,40}\b(?:coil|tower|plug|lead|terminal)"
            r"|\b(?:short|tap|ground|bridge)\b[^.;:]{0,50}\bcapacitor box"),
    Refused("live-secondary", "this lets a live lead jump to whatever is near", _TESTER,
            rf"\b{_LEAD}\b[^.;:]{{0,40}}\b(?:near|close to|against|from|off)\b[^.;:]{{0,12}}"
            r"\b(?:block|head|manifold|ground)\b"
            rf"|\b(?:blue|fat|yellow) (?:arc|spark)|\b{_BODY}\b{_GAP}\b(?:wires?|boots?|terminals?)\b"
            rf"|\b(?:the|a) plug\b[^.;:]{{0,30}}\b(?:rocker|block|head|manifold)\b|\b(?:cap|plug)\b{_GAP}\b{_BODY}\b",
            states=RUNNING, unless="tester"),
    Refused("guard", "this defeats a guard", "leave every guard and safety switch in place",
            rf"\b(?:{_PAST}|take)\b[^.;:]{{0,45}}\b(?:shroud|guard|shield|belt cover|interlock"
            r"|safety (?:switch|catch|valve)|inertia "
            r"(?:switch|cut-?off)|cut-?off|neutral switch|oil[- ]pressure switch|(?:hood|bonnet) latch)\b"
            r"|\bhot-?wire\b|\bdo without the\b[^.;:]{0,20}\b(?:cover|guard|shroud)\b|\bnever stops the pump\b"
            r"|\bso (?:that )?(?:it|the pump) (?:always runs|runs all the time)\b"
            r"|\b(?:hood|bonnet|latch)\b[^.;:]{0,50}\b(?:drive|undone|unlatched)\b"
            r"|\brelay\b[^.;:]{0,50}\bleave (?:it|that|the (?:wire|bridge|loop)) in\b", spared=r"\bin place\b"),
    Refused("into-moving", "this puts a hand or a face where something turns or spits", "stop the engine first, or look"
            " from the side at an arm's length",
            rf"\b(?:feel|touch|press)\b[^.;:]{{0,30}}\bbelt|\breach\w*\b[^.;:]{{0,20}}\b"
            rf"(?:into|over|past|behind|through)\b"
            rf"|\b{_BODY}\b{_GAP}\b(?:belts?|fan|pulleys?)\b"
            r"|\bcover\b[^.;:]{0,30}\b(?:bores?|inlet|throttle body)\b[^.;:]{0,20}\b(?:hand|palm)"
            r"|\blean over\b", states=RUNNING),
    Refused("into-moving", "this looks into an engine that can spit back", "look from the side, or engine still",
            r"\b(?:look|peer)\b[^.;:]{0,12}\b(?:down|into|over)\b[^.;:]{0,15}\b(?:bores?|throttle body)",
            states=RUNNING),
    Refused("into-moving", "nobody stands beside an engine at this speed", "read it from the seat",
            r"\b(?:light|damper)\b[^.;:]{0,50}\b(?:3[1-9]\d\d|[4-9]\d{3}) ?rpm", states=RUNNING),
    Refused("runaway", "this holds a throttle open on a running engine", "let a foot hold it, that can let go",
            r"\b(?:tie|wedge|wire|prop|block|jam|lash)\b[^.;:]{0,20}\bthrottle\b[^.;:]{0,20}\bopen"
            r"|\b(?:bricks?|sticks?|wedges?|bungee|cushion|elastic|(?:zip|cable)[- ]?ties?|clamps?|rope|string|broom\w*"
            r"|jam|prop|tie|lash)\b"
            r"[^.;:]{0,40}\b(?:throttle|pedal|accelerator|linkage|the gas)\b"
            r"|\b(?:throttle|accelerator|pedal|the gas)\b[^.;:]{0,30}\b(?:so (?:that )?it holds|by itself|stays)\b",
            states=_BY_ITSELF),
    Refused("runaway", "this holds a switch that a hand must be able to let go", "a helper holds it",
            r"\b(?:tape|wedge|jam|glue)\b[^.;:]{0,20}\b(?:button|key|switch)\b"
            r"|\b(?:button|key|switch)\b[^.;:]{0,20}\bwith tape\b"),
    Refused("under-car", "this puts someone under a car that runs, or that nothing holds", "rated stands, engine off,"
            " out from under it before the key goes on",
            r"\bon (?:a|the) jack\b(?! stand)|\bbricks?\b|\bblocks? under\b|\bjack\b(?! stand)[^.;:]{0,25}"
            r"\b(?:holds?|fine|enough|will do)\b"),
    Refused("under-car", "this puts someone under a car that runs", "come out from under it before the key goes on",
            r"\bunder (?:the car|it)\b|\b(?:crawl|slide|lie|get|duck|scoot) (?:in |right )?(?:under|below|beneath)",
            states=RUNNING, unless="nobody (?:is )?under|out from under"),
    Refused("scald", "this opens hot coolant", "wait until the hose is soft and cool",
            r"\b(?:open|take|remove|loosen|crack|undo|turn)\b[^.;:]{0,25}\bcap\b[^.;:]{0,40}\b"
            r"(?:hot|boil\w*|warm|steam)\b"),
    Refused("gas", "this breathes exhaust gas", "outdoors, or with the exhaust led outside",
            r"\b(?:shut|closed?)\b[^.;:]{0,15}\b(?:garage|workshop)|\b(?:garage|workshop|shed)\b[^.;:]{0,30}"
            r"\b(?:shut|closed|door (?:is )?down)\b|\bnose\b[^.;:]{0,20}\b(?:pipe|exhaust)"
            r"|\b(?:smell|sniff)\b[^.;:]{0,20}\bthe (?:tail ?pipe|exhaust)\b"),
    Refused("road", "full load belongs on a dyno or closed course", _CLOSED,
            r"\bwhere the law allows\b|\b(?:motorway|highway|street|freeway)\b|(?:^|and |then )floor it\b"),
    Refused("road", "full load belongs on a dyno or closed course", _CLOSED,
            rf"\b{_FULL}\b|\b(?:bury|hammer|mash|stamp|rag|thrash)\b", states=frozenset({"under load"}),
            unless=r"\bdyno\b|closed course"),
    Refused("road", "a run on the road says how gently it is driven", "name a steady cruise or a dyno",
            r"\b(?:road|stretch|lane|hill|track|strip)\b", states=frozenset({"under load"}),
            unless=r"\bdyno\b|closed course|\bcruise\b|\bspeed limit|\bsteady\b|\bgentl"),
    Refused("road", "this repeats what breaks pistons", "lift off at once, and do not repeat it",
            r"\brepeat\b[^.;:]{0,30}\b(?:lean|pull|run|full)"
            r"|\bpulls?\b[^.;:]{0,15}\b(?:again|a few times|over and over)"
            r"|\b(?:only|just|even if it) (?:pings?|knocks?|rattles?)\b"),
    Refused("road", "nobody who drives reads a gauge, or drives on bad brakes", "a helper reads; brakes are proved"
            " before the car moves",
            r"\bgauge\b[^.;:]{0,20}\blap\b|\b(?:pinch|clamp|plug|cap|block)\b[^.;:]{0,30}\bbooster\b[^.;:]{0,30}"
            r"\b(?:drive|round the block|down the road)\b"),
    Refused("unsafe-plant", "this plant leaks fuel or shuts a fuel line", _PLANT_OTHERWISE,
            r"\b(?:loosen|slacken|crack|open|cut|nick|puncture|drill|drip|leak)\b[^.;:]{0,30}"
            r"\b(?:fuel|rail|pressure line|return line|fitting|flare nut|union)\b"
            r"|\b(?:fuel|petrol|gasoline)\b[^.;:]{0,20}\b(?:leak|drip|spill|pour)s?\b|\b(?:weep|seep)s?\b"
            r"|\b(?:pinch|clamp)\b[^.;:]{0,20}\b(?:return|fuel|pressure)\b"
            r"|\b(?:back|wind|screw|turn)\b[^.;:]{0,20}\bregulator\b", planted=True),
    Refused("unsafe-plant", "this plant runs an engine lean or over-advanced under load", _PLANT_OTHERWISE,
            r"\b(?:take|cut|remove|less)\b[^.;:]{0,40}\b(?:high|top|full)\b[^.;:]{0,15}\b(?:cells?|table|fuel|load)\b"
            r"|\blean (?:the|it|out)\b|\bdegrees early\b|\bearlier\b|\badvance (?:it|the "
            r"(?:timing|spark|distributor))\b"
            r"|\badvance springs? (?:off|out)\b|\b(?:one|an?) advance spring\b"
            r"|\b(?:send|let)\b[^.;:]{0,25}\b(?:drive|driven|out with it)\b", planted=True),
    Refused("unsafe-plant", "this plant damages what somebody will touch or trust", _PLANT_OTHERWISE,
            r"\b(?:scratch|cut|nick|pierce|prick)\b[^.;:]{0,30}\b(?:lead|hose|line|wire)\b(?! away)"
            r"|\breturn springs?\b|\bthrottle(?:'s)? (?:\w+ )?springs?\b|\b(?:rags?|cardboard|card|cloth)\b"
            r"[^.;:]{0,40}"
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
            excused = refused.unless and re.search(refused.unless, whole)
            if counts and not excused and said(refused.pattern, plain, refused.spared, still=bool(refused.states)):
                yield place, refused


def said(pattern: str, text: str, spared: str = "", still: bool = False) -> bool:
    """Return whether a text says something and does not forbid it in the words before, in the same sentence.

    A sentence with words that match `spared` is not counted; with `still`, nor is what is done after the same text
    has switched the engine off.

    >>> said("flame", "never a flame."), said("flame", "not so bad: take a flame.")
    (False, True)
    """
    return any(
        not _forbidden(text, found.start())
        and not (spared and _compiled(spared).search(_sentence(text, found.start())))
        and not (still and _switched_off(text[: found.start()]))
        for found in _compiled(pattern).finditer(text)
    )


def _switched_off(before: str) -> bool:
    """Return whether the words before have switched the engine off, and not on again."""
    off = list(re.finditer(r"\b(?:engine|ignition|key) (?:off|out|still)\b", before))
    return bool(off) and not re.search(r"\b(?:start|crank|idl|run|rev|key on)", before[off[-1].end() :])


def _sentence(text: str, at: int) -> str:
    """Return the sentence that a place of a text stands in."""
    begin = max((end.end() for end in _SENTENCE_END.finditer(text, 0, at)), default=0)
    ended = _SENTENCE_END.search(text, at)
    return text[begin : ended.start() if ended else len(text)]


def _forbidden(text: str, start: int) -> bool:
    """Return whether the words before forbid what begins at `start`: a negation with no new order after it."""
    before = _SENTENCE_END.split(text[:start])[-1]
    after = text[start : start + 40]
    sentence = _sentence(text, start)
    if re.search(r"\bkeep\b", before) and re.search(r"\b(?:away|clear|out of)\b", sentence):
        return True
    if re.search(r"\b(?:hands?|fingers|hair|sleeves)\b[^.;:]*\bclear of\b", sentence):
        return True
    negated = list(_NEGATED.finditer(before))
    if negated:
        return not _NEW_ORDER.search(before[negated[-1].end() :] + after.split(" ")[0])
    return bool(re.match(r"\w+ (?:no|nothing|none)\b", after))


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern)
