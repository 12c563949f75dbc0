"""A small valid folder of trees to damage, and the means to damage it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue, shipped_trees

sys.path.insert(0, str(Path(__file__).parent))

TREES: dict[str, str] = {
    "cautions.yaml": """
moving-parts:
  title: Moving parts
  signal: WARNING
  hazard: moving-parts
  happens: A belt or fan takes hold of hands, hair and sleeves.
  avoid: [Keep hands and leads clear of belts and fan.]
  defer: The maker's data comes first.
  mentions: [fan, belts]
road-or-dyno-run:
  title: Road and dyno runs
  signal: WARNING
  hazard: road-or-dyno-run
  happens: A driver who looks at a gauge causes a crash.
  avoid: [A helper reads and the driver drives.]
  defer: Obey local traffic law.
  needed: [{state: [under load]}]
fuel-under-pressure:
  title: Fuel under pressure
  signal: DANGER
  hazard: fuel-under-pressure
  happens: Fuel sprays out and burns.
  avoid: [Let the pressure down before a line is opened.]
  defer: Local codes and the maker's data come first.
  mentions: [open the line]
""",
    "setups.yaml": """
gauge-teed-in:
  words: Gauge teed in
  minutes: 10
""",
    "tools.yaml": """
fuel-gauge: {words: Fuel pressure gauge}
voltmeter: {words: Voltmeter}
""",
    "cars/plain-eight.yaml": """
title: Plain eight
cylinders: 8
rated-pressure: 58
""",
    "causes/fuel.yaml": """
strainer-blocked:
  title: Strainer blocked
  system: fuel
  rate: 0.05
  basis: common practice
  happens: The pump starves.
  repair: {do: [Clean the strainer.], minutes: 40, parts: 15}
  proof: {words: Pressure holds., check: pressure}
  plant: {never: It overheats the pump.}
pump-volts-low:
  title: Pump volts low
  system: electrical
  rate: 0.04
  basis: common practice
  happens: The pump turns slowly.
  repair: {do: [Repair the feed.], minutes: 30}
  proof: {words: Volts hold., check: volts}
  plant: {never: It may overheat a wire.}
regulator-high:
  title: Regulator high
  system: fuel
  rate: 0.02
  basis: common practice
  happens: Too much pressure.
  repair: {do: [Set the regulator.], minutes: 20}
  proof: {words: Pressure as set., check: pressure}
  plant: {do: [Turn the screw half a turn.], undo: [Turn it back.], present: It smells rich.}
""",
    "causes/other.yaml": """
something-else:
  title: Something not listed
  system: other
  rate: 0.03
  basis: common practice
  happens: No list is complete.
  repair: {do: [Ask someone who knows more.], minutes: 240}
  proof: {words: The concern is gone.}
  plant: {never: There is nothing to plant.}
""",
    "checks/fuel.yaml": """
pressure:
  ask: Fuel pressure at idle
  why: Tells a supply fault from a setting.
  do: [Read the gauge.]
  drawing: |
    pump --+-- body
          (P)
  setup: gauge-teed-in
  state: idle
  hands: [engine bay]
  tools: [fuel-gauge]
  minutes: 3
  cautions: [fuel-under-pressure]
  reading: {unit: psi, plausible: [0, 120], uncertainty: 1}
  bands:
    - {outcome: low, to: {car: rated-pressure, plus: -4}, words: below the set pressure}
    - {outcome: normal, to: {car: rated-pressure, plus: 4}, words: as set}
    - {outcome: high, words: above the set pressure}
  normal: normal
  basis: common practice
  moved-by:
    strainer-blocked: {low: 0.75}
    pump-volts-low: {low: often}
    regulator-high: {high: nearly always, why: That is what it is.}
""",
    "checks/electrical.yaml": """
volts:
  ask: Volts at the pump, running
  why: Tells the feed from the pump.
  do: [Read the meter at the pump.]
  drawing: |
    (V) -- pump
  state: idle
  hands: [engine bay]
  tools: [voltmeter]
  minutes: 4
  reading: {unit: V, plausible: [0, 20], uncertainty: 0.1}
  bands:
    - {outcome: low, to: 12.4, words: feed drops}
    - {outcome: normal, words: good}
  normal: normal
  basis: common practice
  moved-by:
    pump-volts-low: {low: nearly always, why: That is what it is.}
hose-look:
  ask: Look at the return hose
  why: Sees a kink.
  do: [Look along the hose.]
  state: key off
  hands: [engine bay]
  minutes: 2
  choices:
    - {outcome: clear, words: no kink}
    - {outcome: kinked, words: kinked or flat}
  normal: clear
  basis: common practice
  moved-by:
    regulator-high: {kinked: 0.2}
""",
    "concerns/runs-weak.yaml": """
title: Runs weak
says: It runs weak
meaning: Weak at every speed.
shows: {strainer-blocked: usually, pump-volts-low: often, regulator-high: sometimes}
steps:
  first: {check: pressure, next: {low: volts, normal: hose, high: set-it}}
  volts: {check: volts, next: {low: repair-feed, normal: clean}}
  hose: {check: hose-look, next: {clear: volts, kinked: set-it}}
  repair-feed: {repair: pump-volts-low}
  clean: {repair: strainer-blocked}
  set-it: {repair: regulator-high}
""",
    "concerns/runs-weak.cases.yaml": """
- name: blocked strainer
  car: plain-eight
  readings: {pressure: 40 psi, volts: 13.6 V}
  leads: [strainer-blocked]
- name: poor feed
  car: plain-eight
  readings: {pressure: 45 psi, volts: 11 V}
  leads: [pump-volts-low]
  must-not-lead: [regulator-high]
- name: set too high
  car: plain-eight
  readings: {pressure: 4.6 bar, volts: 13.5}
  leads: [regulator-high]
  must-not-lead: [strainer-blocked, pump-volts-low]
""",
    "healthy/sound.yaml": """
name: A healthy eight
car: plain-eight
readings: {pressure: 58 psi, volts: 13.8 V, hose-look: clear}
""",
}
"""A folder of trees in which the linter finds nothing."""

Writer = Callable[..., Path]


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The shipped trees."""
    return load_catalogue(root=shipped_trees())


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give every test here a cache of its own, since many are about what is kept in it."""
    monkeypatch.setenv("TROUBLESHOOT_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def trees(tmp_path: Path) -> Writer:
    """Return a function that writes the small trees, some texts replaced, and returns their folder.

    `trees({"checks/fuel.yaml": ("old text", "new text")})` replaces a piece of one file, which must be there;
    a plain text in place of the pair is a whole new file, None leaves the file out.
    """

    def write(changes: dict[str, tuple[str, str] | str | bytes | None] | None = None, folder: str = "trees") -> Path:
        files: dict[str, str | bytes] = dict(TREES)
        for name, change in (changes or {}).items():
            if change is None:
                del files[name]
            elif isinstance(change, tuple):
                old, new = change
                assert old in TREES[name], f"{old!r} is not in {name}"
                files[name] = TREES[name].replace(old, new)
            else:
                files[name] = change
        root = tmp_path / folder
        for name, text in files.items():
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            (root / name).write_bytes(text if isinstance(text, bytes) else text.lstrip("\n").encode())
        return root

    return write
