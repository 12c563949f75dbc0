"""The few marks our drawings are made of, as SVG: every word in them is escaped, no script, no outside file."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape


def svg_document(
    title: str,
    size: tuple[float, float],
    parts: Iterable[str],
    letter: float = 13,
    paper: tuple[str, str] | None = None,
) -> str:
    """Return a whole SVG document of a size in its own units, white below; `paper` is width and height in print."""
    wide, high = f"{size[0]:g}", f"{size[1]:g}"
    shown = paper or (wide, high)
    return "\n".join([
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{shown[0]}" height="{shown[1]}" '
        f'font-family="sans-serif" font-size="{letter:g}" role="img">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{wide}" height="{high}" fill="white"/>',
        *parts,
        "</svg>",
        "",
    ])  # fmt: skip


def svg_text(x: float, y: float, words: str, anchor: str = "start", more: str = "") -> str:
    """Return one text, escaped; `anchor` is start, middle or end."""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {more}>{escape(words)}</text>'


def svg_line(x1: float, y1: float, x2: float, y2: float, colour: str, dash: str = "", wide: float = 1) -> str:
    """Return one straight line."""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{wide}" stroke-dasharray="{dash}"/>'
    )


def svg_box(x: float, y: float, wide: float, high: float, more: str) -> str:
    """Return one rectangle; `more` is how it is filled and edged."""
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}" {more}/>'


def svg_runs(x: float, y: float, runs: Iterable[tuple[str, str]]) -> str:
    """Return one line of text in several styles, each (style, words), escaped."""
    spans = " ".join(f"<tspan {style}>{escape(words)}</tspan>" for style, words in runs)
    return f'<text x="{x:.1f}" y="{y:.1f}">{spans}</text>'
