"""How the screens look at the sizes people have, as text pictures; nothing runs over, nothing is cut."""

from __future__ import annotations

import pytest

BEGIN = ("a", "1", "y", "y")
WALKS = {
    "start": (),
    "examples": ("a",),
    "caution": ("a", "1"),
    "session": BEGIN,
    "session-typed": (*BEGIN, "3", "8"),
    "session-second-check": (*BEGIN, "3", "8", "enter"),
    "session-choices": ("a", "2", "2"),
    "why": (*BEGIN, "3", "8", "enter", "w"),
    "other-checks": (*BEGIN, "o"),
    "cannot": (*BEGIN, "u"),
    "change": (*BEGIN, "3", "8", "enter", "e"),
    "stop": (*BEGIN, "exclamation_mark"),
    "car": ("n", "1", "enter", "1"),
    "concern": ("n", "1"),
    "tools": ("n", "1", "enter", "1", "enter"),
    "finish": (*BEGIN, "f"),
    "settings": ("s",),
    "help": (*BEGIN, "question_mark"),
}


@pytest.mark.parametrize("name", WALKS)
async def test_the_screen_looks_as_kept(screens, same, name: str) -> None:
    """Each screen looks as the kept pictures at both sizes; a change is looked at by a person before it is kept."""
    async with screens(80, 24) as (_, press):
        same(f"{name}-80x24", await press(*WALKS[name]))
        same(f"{name}-120x40", await press(size=(120, 40)))


@pytest.mark.parametrize(("width", "height"), [(40, 15), (20, 8), (80, 24), (160, 50)])
async def test_a_walk_holds_at_any_size(screens, width: int, height: int) -> None:
    """From the smallest to a large terminal: the walk goes on, and the title of the check stands on the screen."""
    async with screens(width, height) as (_, press):
        text = await press(*BEGIN)
        for _ in range(12):
            if "y read on" in text or "y I have read it" in text:
                text = await press("y")
        assert "Fuel pressure" in text
        text = await press("3", "8", "enter")
        assert "Volts" in text


async def test_the_session_answers_four_questions_at_80_by_24(screens) -> None:
    """What to do, what was read, what it is likely to be, what has been done: all on one screen."""
    async with screens(80, 24) as (_, press):
        text = await press(*BEGIN, "3", "8", "enter", "1", "3")
    assert "Volts at the pump under load" in text
    assert "▸ 13▁" in text and "13 V: good" in text and "▼" in text
    assert "LIKELY" in text and "█" in text
    assert "1 x Fuel pressure at the moment it leans out: 38" in text


async def test_a_larger_terminal_changes_the_layout_and_back(screens) -> None:
    """A resize in the middle of an entry loses nothing."""
    async with screens(80, 24) as (_, press):
        before = await press(*BEGIN, "3", "8")
        for size in ((160, 50), (40, 15)):
            assert "▸ 38▁" in await press(size=size)
        assert await press(size=(80, 24)) == before


async def test_it_reads_without_colour(screens, monkeypatch) -> None:
    """With NO_COLOR every picture keeps its words and signs: the marks are shapes, not colours."""
    async with screens(80, 24) as (_, press):
        coloured = await press(*BEGIN, "3", "8")
    monkeypatch.setenv("NO_COLOR", "1")
    async with screens(80, 24) as (app, press):
        plain = await press(*BEGIN, "3", "8")
        assert app.no_color
    assert plain.splitlines()[2:19] == coloured.splitlines()[2:19]


@pytest.mark.parametrize("theme", ["dark", "bright-sun", "high-contrast"])
async def test_every_theme_shows_the_same_words(screens, theme: str) -> None:
    """A theme changes colours and nothing else, and is kept for the next start."""
    keys = ["s", "down", *["right"] * ["dark", "bright-sun", "high-contrast"].index(theme), "enter"]
    async with screens(80, 24) as (app, press):
        text = await press(*keys)
        assert app.theme == theme and "n  Your car" in text
    async with screens(80, 24) as (app, _):
        assert app.theme == theme


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, as WCAG 2.1 defines it (relative luminance, sRGB)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
        lit = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * lit[0] + 0.7152 * lit[1] + 0.0722 * lit[2]

    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def test_the_contrast_of_every_theme_is_enough() -> None:
    """Words stand out by 4.5 to 1 at least, 7 to 1 in bright sun and high contrast (WCAG 2.1, 1.4.3 and 1.4.6)."""
    from troubleshoot.tui.themes import THEMES

    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    for theme, _ in THEMES:
        least = 4.5 if theme.name == "dark" else 7.0
        tokens = {"quiet": theme.variables["quiet"], "strong": theme.variables["strong"]}
        tokens |= {
            name: getattr(theme, name) for name in ("primary", "accent", "warning", "error", "success", "foreground")
        }
        for name, colour in tokens.items():
            assert contrast(colour, theme.background) >= least, f"{theme.name} {name}"
