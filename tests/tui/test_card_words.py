"""What a card is headed with, and how a check says what may be typed."""

from __future__ import annotations

from dataclasses import replace

from troubleshoot.case.view import Step
from troubleshoot.tui.session_options import rows_for
from troubleshoot.tui.widgets.answer import hint_for
from troubleshoot.tui.widgets.card import other_parts


def test_an_inspection_with_findings_is_not_headed_nothing_wrong(workspace) -> None:
    """The same end has two headings: a list to put right, or nothing wrong."""
    view = workspace.open_case().view()
    ended = replace(view, step=Step("healthy", "The inspection is finished, with one thing to put right."))
    assert other_parts(ended)[0][0].plain == "Nothing wrong found"
    found = replace(ended, to_put_right=("Are the grounds bright? shared",))
    said = [part.plain if hasattr(part, "plain") else part[1].plain for part in other_parts(found)[0]]
    assert said[0] == "Put this right first" and said[-1] == "Are the grounds bright? shared"


def test_a_gap_in_inches_can_be_read() -> None:
    """A feeler gauge in thousandths: unit, range and uncertainty as figures and not as noughts."""
    from troubleshoot.case.view import BandShown, CheckShown

    check = CheckShown(
        id="gap", ask="Gap", term="", why="", do=(), drawing="", state="key off", tools=(), setup="",
        setup_in_place=False, minutes=1, setup_minutes=0, cautions=(), unit="in", plausible=(0.0, 0.315),
        uncertainty=0.00118, bands=(BandShown("normal", "as set", None, 0.01102, True),), choices=(), basis="",
        cannot="", reason="", proposed_by="tree",
    )  # fmt: skip
    assert hint_for(check) == "in inches, 0 to 0.32, ±0.0012"


def test_a_retest_offers_the_measurement_that_proves_it(workspace) -> None:
    """Where it can be made; first the words of the driver, then the number."""
    view = workspace.open_case().view()
    for proved, place in ((False, 3), (True, 1)):
        bare = replace(view, step=Step("retest", "Try the car.", proved=proved))
        assert all(row.id != "measure" for row in rows_for(bare))
        known = replace(view, step=Step("retest", "Try the car.", proved=proved, measure=("volts", "Volts at idle")))
        assert (rows_for(known)[place].id, rows_for(known)[place].words) == ("measure", "Measure it: Volts at idle")


async def test_the_measurement_is_made_from_the_retest_and_leads_back_to_it(tmp_path) -> None:
    """On the shipped trees: repair noted, the fourth answer opens the check, its reading leads back."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.session import SessionScreen
    from troubleshoot.tui.workspace import Workspace

    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", *"volts low since", "1")
        await pilot.pause()
        while app.screen.NAME == "caution":
            await pilot.press("y")
            await pilot.pause()
        session = app.screen
        assert isinstance(session, SessionScreen)
        walk = session.case
        walk.take("charging-volts-idle", "12.4 V")
        walk.repair("alternator-weak")
        session.show_case()
        await pilot.press("4", "enter")
        await pilot.pause()
        while app.screen.NAME == "caution":
            await pilot.press("y")
            await pilot.pause()
        assert walk.view().step.check is not None and walk.view().step.check.id == "charging-volts-idle"
        await pilot.press(*"14.2", "enter")
        await pilot.pause()
        assert walk.view().step.kind == "retest" and walk.view().step.measure is None


async def test_the_dwell_follows_the_cylinders_until_it_is_set(tmp_path) -> None:
    """A six is not measured by the dwell of an eight (common practice, 31 to 42 degrees); a figure typed stays."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.form_screen import MeasuredFormScreen
    from troubleshoot.tui.widgets.form import FieldLine
    from troubleshoot.tui.workspace import Workspace

    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("n")
        await pilot.pause()
        await pilot.press(*"certain", "1", "enter", "1")
        await pilot.press("f4")
        await pilot.pause()
        form = app.screen
        assert isinstance(form, MeasuredFormScreen)
        cylinders, dwell = form.query_one("#field-cylinders", FieldLine), form.query_one("#field-dwell", FieldLine)
        cylinders.become("6")
        await pilot.pause()
        assert dwell.text.startswith("38")
        await pilot.press("f2")
        await pilot.pause()
        assert dwell.text.startswith("38"), "units changed, the engine did not"
        dwell.become("35")
        cylinders.become("4")
        await pilot.pause()
        assert dwell.text == "35"


def test_a_car_said_to_have_six_cylinders_has_the_dwell_of_a_six() -> None:
    """The same from the form and from the words of a command; a dwell that was set before is kept."""
    from troubleshoot.cli.car_choice import changed_car
    from troubleshoot.knowledge.car import Car
    from troubleshoot.tui.car_form import read_car

    assert read_car(Car(), {"cylinders": "6"}, "us")[0].dwell == 38
    assert read_car(Car(), {"cylinders": "6", "dwell": "35"}, "us")[0].dwell == 35
    assert changed_car(Car(), ["cylinders = 4"]).dwell == 50
    assert changed_car(Car(dwell=33), ["cylinders = 6"]).dwell == 33
    assert changed_car(Car(), ["dwell = 36", "cylinders = 6"]).dwell == 36


async def test_the_map_of_the_car_is_seen_beside_a_long_check_with_a_drawing(tmp_path) -> None:
    """At 120 by 40 it shrinks to what is suspect or measured and stays; the steps and the drawing are seen whole."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.new_case import begin
    from troubleshoot.tui.screens.session import SessionScreen
    from troubleshoot.tui.widgets.car_map import CarMap
    from troubleshoot.tui.widgets.card import Card
    from troubleshoot.tui.workspace import Workspace

    workspace = Workspace(None, tmp_path / "casebook.sqlite")
    case = begin(workspace, workspace.catalogue.cars["tarn-six-160"], ["lean-top"], None)
    app = TroubleshootApp(workspace)
    async with app.run_test(size=(120, 40)) as pilot:
        for check in ("starter-cable-drop", "delivery-into-can", "pressure-at-idle"):
            case.choose(check)
            while case.view().step.kind == "caution":
                for caution in case.view().step.cautions:
                    case.acknowledge(caution.id)
            session = SessionScreen(workspace, case)
            await app.push_screen(session)
            await pilot.pause()
            await pilot.pause()
            drawn, card = session.query_one(CarMap), session.query_one(Card)
            assert session.view.step.check.drawing and drawn.size.height >= 3, check
            assert session.query_one("#drawing").region.bottom <= card.region.bottom, check
