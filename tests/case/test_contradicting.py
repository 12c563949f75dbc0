"""What an answer and the car file say of each other: asked about, and only where they do not go together.

Common practice, no source, where no other is named.
"""

from __future__ import annotations

import pytest

from troubleshoot.case.case import Case, case_in_memory
from troubleshoot.case.settings import CaseSettings
from troubleshoot.knowledge.catalogue import Catalogue, car_with


def read(
    catalogue: Catalogue, readings: dict[str, str], car: str = "harrow-240", **differs: str | float | bool
) -> Case:
    """Return a case of the shipped trees with these readings."""
    fields = {name.replace("_", "-"): value for name, value in differs.items()}
    case = case_in_memory(catalogue, car_with(catalogue, car, fields), ("wont-rev",), CaseSettings(learn=False))
    for check, text in readings.items():
        case.take(check, text, sure=True)
    return case


def asked(case: Case) -> str:
    """Return what is asked about, as every face shows it among its notices."""
    return " ".join(one for one in case.view().notices if "does not go with the car file" in one)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ({"battery-rest-volts": "6.3 V"}, "Is it a 6 V car?"),
        ({"pressure-at-prime": "14.5 psi", "pressure-at-idle": "15 psi"}, "Systems set to 15 psi read this"),
        ({"dwell-at-idle": "38 deg"}, "the dwell of 6 cylinders, and the file has 8"),
        ({"base-timing-hose-off": "36 deg"}, "The file says base timing"),
        ({"idle-target-look": "1100 rpm"}, "The file says idle speed"),
        ({"manifold-pressure-full": "106 kPa"}, "the barometer stands near"),
        ({"coil-primary-resistance": "3.4 ohm"}, "Is another kind fitted?"),
        ({"ethanol-content": "70 %"}, "What was filled?"),
    ],
)
def test_an_answer_that_fits_another_car_is_asked_about_once(
    shipped: Catalogue, readings: dict[str, str], words: str
) -> None:
    question = asked(read(shipped, readings, coil_resistance=1.5, altitude=500.0))
    assert words in question
    assert question.count("does not go with") == 1


def test_points_are_not_read_on_a_car_with_a_pickup(shipped: Catalogue) -> None:
    question = asked(read(shipped, {"dwell-at-idle": "30 deg"}, "tarn-six-160-electronic"))
    assert "with ignition points; the file says electronic" in question


def test_a_sound_car_of_the_file_is_asked_nothing(shipped: Catalogue) -> None:
    """As set in every figure, and a mild fault in some: none of these is another car."""
    sound = {
        "dwell-at-idle": "33 deg", "base-timing-hose-off": "4 deg", "coil-primary-resistance": "1.6 ohm",
        "pressure-at-idle": "47 psi", "battery-rest-volts": "11.4 V", "idle-target-look": "850 rpm",
        "manifold-pressure-full": "97 kPa", "rpm-shown-at-key-on": "0 rpm",
    }  # fmt: skip
    assert asked(read(shipped, sound, coil_resistance=1.5)) == ""


def test_thousands_at_key_on_are_said_to_be_unexplained_without_a_sweep(shipped: Catalogue) -> None:
    """The worked example: 3,200 rpm at key-on, engine still, and nothing in the car sweeps."""
    still = read(shipped, {"rpm-shown-at-key-on": "3200 rpm"}, sweeps_at_key_on=False)
    assert "the file says that none here does" in asked(still)
    (said,) = [one for one in still.view().notices if one.startswith("Nothing listed explains")]
    assert "Nearest is “Rpm signal picks up noise”" in said
    sweeping = read(shipped, {"rpm-shown-at-key-on": "3200 rpm"}, sweeps_at_key_on=True)
    assert sweeping.view().notices == ()
    # Settled by what there is: the car is changed, and the question is gone.
    still.set_car(car_with(shipped, "harrow-240", {"sweeps-at-key-on": True}))
    assert asked(still) == ""


def test_a_needle_at_the_end_of_its_scale_is_no_slip_where_something_sweeps(shipped: Catalogue) -> None:
    """9,000 rpm is far beyond the limit and is what a sweep shows: it is not to be measured again."""
    car = car_with(shipped, "harrow-240", {"sweeps-at-key-on": True})
    case = case_in_memory(shipped, car, ("cold-start",), CaseSettings(learn=False))
    for check, text in {"plugs-wet": "wet", "rpm-shown-at-key-on": "9000 rpm"}.items():
        case.take(check, text, sure=True)
    assert case.view().ranked[0].id == "self-test-burst"
    assert case.view().doubt == ""


def test_a_sensor_that_the_file_has_far_down_the_pipe_is_not_well_placed(shipped: Catalogue) -> None:
    """One to ten inches past the meeting point, as the check's own words have it."""
    far = asked(read(shipped, {"oxygen-sensor-place": "well-placed"}, sensor_distance=40.0))
    assert "The file says sensor distance 40 in" in far
    assert not asked(read(shipped, {"oxygen-sensor-place": "well-placed"}, sensor_distance=4.0))
