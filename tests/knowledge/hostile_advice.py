"""Advice that gets someone hurt, as a careless or hostile author would write it; none of it may pass the lint.

Facts of the trade (common practice, no source). The first twelve passed the lint of release 0.2.0.
"""

from __future__ import annotations

from typing import NamedTuple


class Bad(NamedTuple):
    """A dangerous line: where it stands, what is declared beside it, and which cautions its author troubled to add."""

    words: str
    where: str = "check"
    """check, repair, plant, undo, set-up, or cannot."""
    state: str = "key off"
    hands: tuple[str, ...] = ("engine bay",)
    opens: tuple[str, ...] = ()
    live: tuple[str, ...] = ()
    cautions: tuple[str, ...] | None = None
    """None: all there are, so that nothing but the advice itself is wrong."""


BARE: tuple[str, ...] = ()

PASSED_BEFORE = (
    Bad("Start again, hold the same speed, air cleaner off.", state="held speed", cautions=BARE),
    Bad("Hold a lit match along the base and watch the flame."),
    Bad("Move along the gasket slowly. A cigarette lighter will do."),
    Bad("Spray starting fluid along the base, the engine running.", state="idle"),
    Bad("Read the needle.", state="idle", cautions=BARE),
    Bad("Read the meter after five seconds.", state="cranking", cautions=BARE),
    Bad("Put a hand on the pipe and compare.", state="after stop", hands=("at the exhaust",), cautions=BARE),
    Bad("Watch the speed for a minute.", state="cold start", cautions=BARE),
    Bad("Bring a knuckle near the plug's end and let the spark jump to it.", state="cranking"),
    Bad("Bridge the inertia switch with a piece of wire so that the pump runs.", where="repair"),
    Bad("A little ether down the bores while a helper cranks.", state="cranking", opens=("intake",)),
    Bad("Take the battery cable off while it idles; if it dies, the alternator is bad.", state="idle"),
)

FIRE = (
    Bad("A candle shows where the air goes in."),
    Bad("Strike a light and look into the filler neck.", hands=("at the tank",)),
    Bad("A propane torch, turned low, round the gasket.", state="idle"),
    Bad("Wave a burning rag along the hose."),
    Bad("Have a cigarette while the fuel settles."),
    Bad("An ordinary trouble light with a bare bulb is good enough to see the drip."),
    Bad("Never mind the smell: hold a match to the joint."),
    Bad("Not to worry, take a lighter to it."),
    Bad("Warm the frozen fuel line with a heat gun."),
    Bad("Thaw the regulator with a blow lamp.", where="repair"),
    Bad("Brake cleaner along the gasket; the speed rises where it leaks.", state="idle"),
    Bad("Carburettor cleaner finds the leak as well.", state="idle"),
    Bad("Squirt a little gasoline round the base and listen.", state="idle"),
    Bad("Pour a capful of fuel down the bores and try again.", state="cranking", opens=("intake",)),
    Bad("Dribble petrol into the throttle body to get it going.", where="cannot"),
    Bad("Solder the pinhole in the tank.", where="repair"),
    Bad("Weld the boss into the pipe on the car.", where="repair"),
    Bad("Braze the cracked fuel rail in place.", where="repair"),
    Bad("Grind the bracket off beside the filler pipe.", where="repair"),
    Bad("Tap the pump's lead on the battery post and see whether it sparks."),
    Bad("Put a nail in the fuse holder until you have the right fuse.", where="repair"),
    Bad("Fit a 40 A fuse in place of the 15 A one.", where="repair"),
    Bad("Wrap the blown fuse in foil."),
    Bad("Run the pump from the battery with a bare wire.", hands=("at the tank",)),
)

FUEL = (
    Bad("Let it run into an open can behind the car, engine idling.", state="idle", opens=("fuel line",)),
    Bad("Collect what comes in a coffee can.", opens=("fuel line",)),
    Bad("Drain it into a plastic bucket.", where="repair"),
    Bad("Let the rest run out on the floor.", where="repair"),
    Bad("Crack the fitting at the rail with the pump running.", state="key on", opens=("fuel line",)),
    Bad("Loosen the pressure line while it idles and see how far it squirts.", state="idle", opens=("fuel line",)),
    Bad("Close the end of the fuel line with a thumb and feel the pressure.", state="key on", opens=("fuel line",)),
    Bad("Suck at the hose until the fuel comes.", hands=("at the tank",)),
    Bad("Taste it; stale fuel is sour.", hands=("at the tank",)),
    Bad("Blow the line through with compressed air into the tank.", where="repair"),
    Bad("Pinch the return shut and read what the pump can do at most.", state="key on", opens=("fuel line",)),
    Bad("Drive on with the cap loose.", state="after stop", hands=("at the tank",)),
    Bad("A bit of vacuum hose will do for the pressure side.", where="repair"),
    Bad("Wind tape round the leak until Monday.", where="repair"),
    Bad("Take the hose off the rail and look into it.", cautions=BARE),
    Bad("Tee the gauge in after the filter.", state="key on", cautions=("fuel-vapour", "key-on-points")),
    Bad("Open the tank cap and smell.", hands=("at the tank",), cautions=BARE),
    Bad("Let the pressure down and take the filter off.", cautions=("fuel-under-pressure", "fuel-vapour")),
)

SPARK = (
    Bad("Hold the lead a quarter inch from the block and crank.", state="cranking", live=("secondary",)),
    Bad("Pull the plug leads off one after the other while it idles.", state="idle", live=("secondary",)),
    Bad("Use your finger as the gap.", state="cranking", live=("secondary",)),
    Bad("Feel at the coil tower whether there is spark.", state="idle", live=("secondary",)),
    Bad("Hold a screwdriver to the coil tower and draw the spark off to the block.", state="idle", live=("secondary",)),
    Bad("Lay the plug on the block, hold it down and have it cranked.", state="cranking", live=("secondary",)),
    Bad("Short the coil's small terminals on the capacitor box to empty it.", live=("coil",)),
    Bad("Bridge the starter's terminals with a screwdriver.", state="cranking"),
    Bad("Lay a wrench across the battery posts for a moment; a good one sparks."),
    Bad("Thaw the frozen battery on the charger.", where="repair"),
    Bad("Fit the timing light.", state="idle", cautions=("moving-parts", "hot-parts", "exhaust-gas")),
    Bad("Read at the posts.", live=("battery",), cautions=BARE),
)

BODY = (
    Bad("Take the fan shroud off so that the mark can be seen, and leave it off.", state="idle"),
    Bad("Wedge the neutral safety switch and start it in gear.", state="cranking"),
    Bad("Remove the belt guard.", where="repair"),
    Bad("Feel the belt's tension with a thumb while it idles.", state="idle"),
    Bad("Reach into the throttle body and work the blades, engine running.", state="idle", opens=("intake",)),
    Bad("Cover the bores with your hand until it nearly dies.", state="idle", opens=("intake",)),
    Bad("Look down the bores while it is cranked.", state="cranking", opens=("intake",)),
    Bad("Lean over the fan with the light.", state="held speed", live=("secondary",)),
    Bad("Light on the damper, 4500 rpm, hood open.", state="held speed", live=("secondary",)),
    Bad("Tie the throttle open with a wire and start it.", state="held speed"),
    Bad("A helper starts it while you listen under the car.", state="idle", hands=("under the car",)),
    Bad("Slide under it on the jack.", hands=("under the car",)),
    Bad("Two bricks under each side carry it well enough.", hands=("under the car",)),
    Bad("Look from below.", hands=("under the car",), cautions=BARE),
    Bad("Open the radiator cap while it is hot and look for bubbles.", state="idle"),
    Bad("Take the cap off as soon as it boils.", state="after stop"),
    Bad("Shut the garage door, it is cold out, and let it idle.", state="idle"),
    Bad("Put your nose to the tail pipe and smell.", state="idle", hands=("at the exhaust",)),
)

ROAD = (
    Bad("Find a quiet road and floor it.", state="under load", hands=("cabin",)),
    Bad("Full throttle in third on the motorway.", state="under load", hands=("cabin",)),
    Bad("Full throttle where the law allows.", state="under load", hands=("cabin",)),
    Bad("Full throttle from 2000 rpm; read at 4000.", state="under load", hands=("cabin",)),
    Bad("On a dyno, repeat the lean pull until it is clear what it does.", state="under load", hands=("cabin",)),
    Bad("Drive with the gauge in your lap and watch it.", state="under load", hands=("cabin",)),
    Bad("Pinch the booster hose and drive round the yard.", state="under load", hands=("cabin",)),
    Bad("Read it on the way.", state="under load", hands=("cabin",), cautions=BARE),
)

LIES = (
    Bad("Start it and let it idle. Read the gauge.", state="key off", cautions=BARE),
    Bad("Key off. Then crank for five seconds.", state="key off", cautions=BARE),
    Bad("Key on, engine still. Then hold 2500 rpm.", state="key on", cautions=("key-on-points",)),
    Bad("Read it.", hands=(), cautions=BARE),
    Bad(
        "Tee the gauge in. Then run it hot, stop it and read.",
        opens=("fuel line",),
        cautions=("let-the-pressure-down", "fuel-under-pressure", "fuel-vapour"),
    ),
    Bad("Back-probe the plug at the distributor.", state="idle", hands=("cabin",), cautions=("exhaust-gas",)),
    Bad("On stands, look at the pump.", hands=("cabin",), cautions=BARE),
    Bad("All plugs out. Crank.", state="cranking", cautions=("moving-parts",)),
    Bad("Air cleaner off, look from the side.", state="idle", cautions=("moving-parts", "hot-parts", "exhaust-gas")),
    Bad("Key on and compare all tables with the sheet.", state="key on", cautions=BARE),
    Bad("Let it idle for a quarter of an hour.", where="set-up"),
)

PLANTED = (
    Bad("Slacken the clamp of the fuel hose by half a turn.", where="plant"),
    Bad("Take 20 % of the fuel out of the high cells of the table.", where="plant"),
    Bad("Set the timing ten degrees early and send it for a drive.", where="plant"),
    Bad("Scratch a plug lead with a knife.", where="plant"),
    Bad("Hook the return spring off the throttle.", where="plant"),
    Bad("Loosen the brake line at the booster.", where="plant"),
    Bad("Stuff a rag into the air inlet.", where="plant"),
    Bad("Put cardboard before the radiator.", where="plant"),
    Bad("Pinch the return hose flat.", where="plant"),
    Bad("Back the regulator out by a turn.", where="plant"),
)

EVERYTHING = (*PASSED_BEFORE, *FIRE, *FUEL, *SPARK, *BODY, *ROAD, *LIES, *PLANTED)

GOOD = (
    "Never a flame, match or lighter, and no starting fluid.",
    "Look whether the figure matches the sheet.",
    "A sealed lamp, no bare bulb. Nothing lit or sparking near.",
    "Hold no lead by hand. Pull no lead off while it runs.",
    "Never open a hot radiator cap.",
    "Nobody is under the car while it runs.",
    "Catch what comes in a grounded can with a lid.",
    "The warning lamp lights when the key is on.",
    "Compare the mark with the light of the day before.",
    "Never in a closed garage, never on a public road at full throttle.",
    "Do not repeat a lean pull.",
    "No compressed air into the tank, nothing sucked up by mouth.",
)
"""Sentences with the same words that warn, and must pass as advice."""
