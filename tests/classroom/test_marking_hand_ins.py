"""Sitting, handing in, replaying and marking: fair marks for honest trails, a refusal for others."""

from __future__ import annotations

from itertools import pairwise

import msgspec
import pytest

from tests.classroom.conftest import by_numbers
from troubleshoot.case.errors import NotNow
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import sealed
from troubleshoot.classroom.drill_maker import make_drills
from troubleshoot.classroom.grading import mark
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.replaying import replay
from troubleshoot.classroom.rubric import RubricRefused, read_rubric
from troubleshoot.classroom.sitting import NameRefused, clean_name, sit
from troubleshoot.classroom.story import read_plan, starters
from troubleshoot.classroom.trainee_trail import judged_in
from troubleshoot.knowledge.answers import ReadingRefused

SOUND = ("pressure-when-lean", "pump-volts-under-load", "suction-vacuum")
RIGHT = "inlet-strainer-blocked"


@pytest.fixture(scope="module")
def lean(hill):
    """The drill of the long hill where tank and hoses cannot be looked at: three readings tell all there is to tell."""
    key = by_numbers(hill[1])
    return key.drill, key


def test_the_right_cause_by_the_right_readings_gets_nearly_all(sitting, work, marked):
    marks = marked(work(sitting(), SOUND, [RIGHT])).marks
    assert marks.found and marks.total > 90
    assert marks.trainee == "Ann" and marks.finished and not marks.wrong


def test_what_was_named_unread_is_worth_what_the_guess_was(sitting, work, marked):
    """No mark for tidy work that told nothing, and of the cause only the odds it had before any reading."""
    lucky = {one.criterion: one.points for one in marked(work(sitting(), (), [RIGHT])).marks.scores}
    assert 0 < lucky.pop("right-cause") < 8
    assert set(lucky.values()) == {0.0}


def test_one_listen_and_the_right_cause_does_not_pass(sitting, work, marked):
    """The pump heard at key on says next to nothing about its strainer."""
    marks = marked(work(sitting(), ("pump-runs-at-key-on",), [RIGHT])).marks
    assert marks.found and marks.total < 20 and not marks.passed and not marks.proved


def test_wrong_parts_cost_and_a_shotgun_is_not_a_right_answer_for_free(sitting, work, marked):
    one = marked(work(sitting(), SOUND, [RIGHT])).marks
    many = marked(work(sitting(), SOUND, ["filter-blocked", "pump-worn", RIGHT])).marks
    assert many.total < one.total - 10
    assert set(many.wrong) == {"filter-blocked", "pump-worn"}


def test_a_misjudged_reading_costs(sitting, work, marked):
    sitting = work(sitting(), SOUND[:1], close=False)
    sitting.case.choose(SOUND[1])
    while (caution := sitting.case.view().step.caution) is not None:
        sitting.case.acknowledge(caution.id)
    sitting.case.take(SOUND[1], sitting.case.bench.read(SOUND[1]))
    sitting.case.judge(SOUND[1], "low")
    marks = marked(work(sitting, (), [RIGHT])).marks
    judged = next(one for one in marks.scores if one.criterion == "judged")
    assert 0 < judged.points <= judged.out_of / 2


NEEDLESS = ("hot-start-time", "compression-lowest", "cruise-fuel-use")
OTHER = ("filter-blocked", "pump-worn")

TRAILS = {
    "found, and proved": {
        "the one reading that tells most": {"checks": SOUND[2:], "causes": [RIGHT]},
        "pressure under load, then both sides of the pump": {"checks": SOUND, "causes": [RIGHT]},
        "the same, volts last": {"checks": (SOUND[0], SOUND[2], SOUND[1]), "causes": [RIGHT]},
        "the same, suction first": {"checks": (SOUND[2], SOUND[0], SOUND[1]), "causes": [RIGHT]},
        "pressure, then suction": {"checks": (SOUND[0], SOUND[2]), "causes": [RIGHT]},
        "with the mixture at the top": {"checks": ("mixture-at-top", SOUND[0], SOUND[2]), "causes": [RIGHT]},
        "with the pump's current": {"checks": (SOUND[0], "pump-current", SOUND[2]), "causes": [RIGHT]},
    },
    "found and proved, with waste": {
        "nothing judged": {"checks": SOUND, "causes": [RIGHT], "judge": False},
        "three checks that were not needed first": {"checks": (*NEEDLESS, *SOUND), "causes": [RIGHT]},
        "and nothing judged": {"checks": (*NEEDLESS, *SOUND), "causes": [RIGHT], "judge": False},
        "the pressure read four times": {"checks": (*SOUND[:1] * 4, *SOUND[1:]), "causes": [RIGHT]},
        "a wrong cause beside it": {"checks": SOUND, "causes": [OTHER[0], RIGHT]},
        "the same, wrong one named last": {"checks": SOUND, "causes": [RIGHT, OTHER[0]]},
    },
    "worked well, and missed, not proved, or late with sound parts replaced": {
        "needless checks beyond the time, and a wrong cause beside it": {
            "checks": (*NEEDLESS, *SOUND), "causes": [OTHER[0], RIGHT]},
        "good readings and no cause": {"checks": SOUND},
        "good readings, quick, and no cause": {"checks": SOUND[2:]},
        "good readings and a wrong cause": {"checks": SOUND, "causes": ["pump-ground-poor"]},
        "good readings and two wrong causes": {"checks": SOUND, "causes": ["pump-ground-poor", "pump-worn"]},
        "good readings, two wrong ones beside it, beyond the money": {"checks": SOUND, "causes": [*OTHER, RIGHT]},
        "half of the way and the right one of what is left": {"checks": SOUND[:2], "causes": [RIGHT]},
        "one reading and the right one of what is left": {"checks": SOUND[:1], "causes": [RIGHT]},
    },
    "hardly worked": {
        "one listen and the right cause": {"checks": ("pump-runs-at-key-on",), "causes": [RIGHT]},
        "three checks beside the point and the right cause": {"checks": NEEDLESS, "causes": [RIGHT]},
        "half of the way and a wrong cause": {"checks": SOUND[:2], "causes": ["pump-worn"]},
        "one reading and a wrong cause": {"checks": SOUND[:1], "causes": ["pump-worn"]},
        "the right cause unread": {"causes": [RIGHT]},
    },
    "not worked": {
        "four causes unread, the right one among them": {"causes": [*OTHER, "regulator-low", RIGHT]},
        "checks beside the point and a wrong cause": {"checks": NEEDLESS, "causes": ["pump-worn"]},
        "a wrong cause unread": {"causes": OTHER[:1]},
        "nothing at all": {},
    },
}  # fmt: skip
"""Thirty ways to sit the drill, in five groups from the best down, as a fair trainer would put them."""


def test_thirty_trails_stand_in_the_order_a_fair_trainer_would_give(sitting, work, marked):
    """Every trail of a group has more marks than every trail of the next; only those who found and proved pass."""
    totals = {
        group: {words: marked(work(sitting(), **how)).marks for words, how in trails.items()}
        for group, trails in TRAILS.items()
    }
    assert sum(len(trails) for trails in totals.values()) == 30
    for better, worse in pairwise(totals.values()):
        least = min(better.items(), key=lambda pair: pair[1].total)
        most = max(worse.items(), key=lambda pair: pair[1].total)
        assert least[1].total > most[1].total, (least[0], least[1].total, most[0], most[1].total)
    for place, trails in enumerate(totals.values()):
        for words, marks in trails.items():
            assert marks.passed == (place < 2), (words, marks.total)
    assert max(marks.total for marks in totals["not worked"].values()) < 5


def test_who_stops_at_several_suspects_does_not_pass_and_passes_once_they_are_looked_at(hill, sitting, work, trees):
    """Common practice, no source: fuel that falls off at sound volts is a strainer, a filter, a line or a tired pump;
    the vacuum before the pump says on which side of it."""

    def come_to(*checks):
        sat = work(sitting(drill=hill[0]), checks, [RIGHT])
        return mark(replay(hand_in(sat), "x", hill[0], trees), hill[1], read_rubric(), trees)

    short, whole = come_to(*SOUND[:2]), come_to(*SOUND)
    assert 60 / 3 < short.total < 55 and not short.passed and not short.proved
    assert whole.total > 65 and whole.passed and whole.proved


def test_one_of_two_faults_found_gets_more_than_half_and_less_than_both(trees):
    """Half of the cause's marks, and those for clean work; a third cause named for luck costs more than it brings."""
    name = "12-two-for-the-price-of-one"
    key = by_numbers(make_drills([read_plan(starters()[name])], [0], trees)[0].key)
    read = ("coolant-error", "throttle-plate-gap", "timing-at-idle", "sensor-ground-drop", "held-mixture",
            "return-hang", "return-dip")  # fmt: skip

    def total(*causes):
        ticks = iter(range(1_800_000_000, 1_800_100_000, 30))
        sitting, _ = sit(Casebook(":memory:"), trees, lambda: next(ticks), key.drill, "Ann",
                          CaseSettings(learn=False))  # fmt: skip
        for check in read:
            sitting.case.choose(check)
            while (caution := sitting.case.view().step.caution) is not None:
                sitting.case.acknowledge(caution.id)
            sitting.case.take(check, sitting.case.bench.read(check))
            if sitting.unjudged:
                sitting.case.judge(check, sitting.case.assessment.latest[check].outcome)
        for cause in causes:
            sitting.repair(cause)
        sitting.case.close("left")
        return mark(replay(hand_in(sitting), "x", key.drill, trees), key, read_rubric(), trees).total

    first, second = key.causes
    both, one, hedged = total(first, second), total(first), total(first, "regulator-high")
    assert both > 75 and 40 < one < both - 15 and hedged < one
    assert one < total(first, "regulator-high", second) < both


def test_a_drill_solved_by_looking_loses_nothing_for_numbers_it_had_no_need_of(sitting, work, marked):
    """Where no number was read there was none to judge."""
    paper = marked(work(sitting(), ("pump-runs-at-key-on",), [RIGHT]))
    share = {one.criterion: one.points / one.out_of for one in paper.marks.scores}
    assert share["judged"] == share["set-ups"]


def test_a_reading_comes_from_the_bench_and_stays(sitting, work):
    sitting = work(sitting(), SOUND[:1], close=False)
    with pytest.raises(ReadingRefused):
        sitting.case.take(SOUND[1], "13.9 V")
    for forbidden in (
        sitting.case.undo,
        lambda: sitting.case.correct(6, "1 psi"),
        lambda: sitting.case.set_tools(None),
    ):
        with pytest.raises(NotNow):
            forbidden()


def test_the_ranking_is_hidden_from_every_side(sitting, work):
    sitting = work(sitting(), SOUND, close=False)
    view = sitting.case.view()
    assert view.ranked == () and view.pairs == () and view.none == view.something_else == 0
    assert view.step.kind == "free"
    assert all(one.saves == one.worth == 0 for one in sitting.case.other_checks())
    asks = [one.ask.casefold() for one in sitting.case.other_checks() if one.available]
    assert asks == sorted(asks)
    with pytest.raises(NotNow):
        sitting.case.why(RIGHT)
    with pytest.raises(NotNow):
        sitting.case.ask_ranking()


def test_a_notice_before_the_first_check_does_not_tell_what_the_tool_would_do_next(trees, lean, sitting):
    """Knock has a notice that stands before everything; what it stands before is for the person to choose."""
    drill = sealed(msgspec.structs.replace(lean[0], concerns=("knock",), seal=""))
    view = sitting(drill=drill).case.view()
    assert view.step.kind == "caution" and view.behind is None


def test_asking_for_the_ranking_costs_once(lean, trees, sitting, work):
    drill = msgspec.structs.replace(lean[0], ranking="asked", seal="")
    key = msgspec.structs.replace(lean[1], drill=sealed(drill))
    totals = []
    for asks in (0, 2):
        sat = work(sitting(drill=key.drill), SOUND, close=False)
        for _ in range(asks):
            sat.case.ask_ranking()
        assert bool(sat.case.view().ranked) is bool(asks)
        work(sat, (), [RIGHT])
        replayed = replay(hand_in(sat), "x", key.drill, trees)
        totals.append(mark(replayed, key, read_rubric(), trees).total)
    assert totals[0] - totals[1] == pytest.approx(read_rubric().asking)


def test_a_sitting_goes_on_where_it_stopped(tmp_path, lean, trees, work, sitting, marked):
    book = Casebook(tmp_path / "seat.sqlite")
    first = work(sitting(book=book), SOUND[:2], close=False)
    book.close()
    with Casebook(tmp_path / "seat.sqlite") as again:
        clock = iter(range(1_900_000_000, 1_900_001_000))
        second, before = sit(again, trees, lambda: next(clock), lean[0], "Ann", CaseSettings(learn=False))
        assert before and second.case.case_id == first.case.case_id
        assert marked(work(second, SOUND[2:], [RIGHT])).marks.found


def test_a_sitting_in_metric_units_replays_and_is_marked_the_same(lean, trees, work, marked):
    """A reading is kept in the check's unit, so what the person likes to read changes nothing but last digits."""
    totals = []
    for units in ("us", "metric"):
        ticks = iter(range(1_800_000_000, 1_800_010_000, 30))
        mine = CaseSettings(learn=False, units=units)
        sitting, _ = sit(Casebook(":memory:"), trees, lambda ticks=ticks: next(ticks), lean[0], "Ann", mine)
        totals.append(marked(work(sitting, (*SOUND, "fuel-temperature", "idle-vacuum"), [RIGHT])).marks.total)
    assert totals[0] == pytest.approx(totals[1])


@pytest.mark.parametrize("text", [
    "title: nothing\n", "right-cause: 0\ninformation: 0\n", "justified: 10\n", "judged: 10\n",
    "right-cause: -3\n", "right-cause: lots\n",
    "right-cuase: 3\n", "", "- 1\n",
])  # fmt: skip
def test_a_rubric_that_adds_to_nothing_or_does_not_fit_is_refused(tmp_path, text):
    path = tmp_path / "rubric.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RubricRefused):
        read_rubric(path)


def test_an_edited_rubric_moves_the_marks(tmp_path, sitting, work, marked):
    path = tmp_path / "rubric.yaml"
    path.write_text("right-cause: 1\n", encoding="utf-8")
    assert marked(work(sitting(), SOUND, [RIGHT]), read_rubric(path)).marks.total == pytest.approx(100)
    assert marked(work(sitting("Bo"), (), ["pump-worn"]), read_rubric(path)).marks.total == 0


@pytest.mark.parametrize("name", ["", "   ", "\x1b\x00", "x" * 61])
def test_a_name_that_is_none_is_refused(name):
    with pytest.raises(NameRefused):
        clean_name(name)


def test_hints_are_given_in_order_once_each_and_stand_in_the_trail(sitting, work, marked, lean):
    sitting = sitting()
    assert [sitting.next_hint() for _ in range(3)] == [*lean[0].hints, "", ""][:3]
    found = marked(work(sitting, SOUND, [RIGHT]))
    from troubleshoot.classroom.debriefing import trail_words

    assert sum("hint" in line for line in trail_words(found.replayed.sitting)) == len(lean[0].hints)


def test_an_unfinished_sitting_is_marked_as_such(sitting, work, marked):
    marks = marked(work(sitting(), SOUND[:1], close=False)).marks
    assert not marks.finished and not marks.found


def test_every_judgement_is_kept_once(sitting, work):
    sitting = work(sitting(), SOUND[:1], close=False)
    sitting.case.judge(SOUND[0], "high")
    assert judged_in(sitting.case.events) == {SOUND[0]: "low"}
