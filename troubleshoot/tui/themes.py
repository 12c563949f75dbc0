"""Three sets of colours: dark, bright sun, and high contrast, and none, and signs in ASCII; no other names a colour."""

from __future__ import annotations

import unicodedata

from rich.cells import cell_len
from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual.color import Color as Rgb
from textual.filter import LineFilter
from textual.theme import Theme

DARK = Theme(
    name="dark",
    primary="#7fb4d8",
    secondary="#8fa3b0",
    accent="#f0b849",
    warning="#f0b849",
    error="#ff7a6b",
    success="#8ecf7e",
    foreground="#e4e8ea",
    background="#14181b",
    surface="#14181b",
    panel="#20272c",
    dark=True,
    variables={"quiet": "#9aa7af", "strong": "#ffffff", "rule": "#6f7d87"},
)

BRIGHT_SUN = Theme(
    name="bright-sun",
    primary="#003f73",
    secondary="#333333",
    accent="#7a3b00",
    warning="#7a3b00",
    error="#9c0000",
    success="#004d1a",
    foreground="#000000",
    background="#ffffff",
    surface="#ffffff",
    panel="#e6e6e6",
    dark=False,
    variables={"quiet": "#3a3a3a", "strong": "#000000", "rule": "#555555"},
)

HIGH_CONTRAST = Theme(
    name="high-contrast",
    primary="#ffffff",
    secondary="#ffffff",
    accent="#ffff00",
    warning="#ffff00",
    error="#ff9d9d",
    success="#7dff7d",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#000000",
    dark=True,
    variables={"quiet": "#ffffff", "strong": "#ffff00", "rule": "#ffffff"},
)

THEMES: tuple[tuple[Theme, str], ...] = (
    (DARK, "Dark"),
    (BRIGHT_SUN, "Bright sun"),
    (HIGH_CONTRAST, "High contrast"),
)


PLAIN = Style.from_color(Color.default(), Color.default())


class WithoutColour(LineFilter):
    """No colour at all, as NO_COLOR asks (no-color.org): what stood on another ground than the page is reversed."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page = Color.parse(page)

    def apply(self, segments: list[Segment], background: Rgb) -> list[Segment]:
        """Return the segments in the terminal's own two colours."""
        del background
        return [
            Segment(text, None if style is None else self._plain(style), control) for text, style, control in segments
        ]

    def _plain(self, style: Style) -> Style:
        ground = style.bgcolor
        other = ground is not None and not ground.is_default and ground.triplet != self.page.triplet
        return style + PLAIN + (Style(reverse=not style.reverse) if other else Style())


PAIRS = (
    "─-━-═=╌-┄-│|┃|║|╎|┆|▸>▼v▲^←<↑^→>↓v✓*●*·-•-−-–-—-±~×x≤<≥>≈~÷/°o²2³3µuμuΩOλLΔD√V“'”'‘'’'….›>‹<▣#"
    "▁_▂_▃.▄.▅:▆:▇#█#▏.▎:▍:▌#▋#▊#▉#▐#░.▒:▓+▔-▀#"
)
ASCII = dict(zip(PAIRS[::2], PAIRS[1::2], strict=True))
"""One plain sign for each that is drawn, so that nothing moves."""

FRAMES = range(0x2500, 0x2580)
"""Unicode's box drawing: what is neither a level nor an upright line is a corner or a crossing."""


class InAscii(LineFilter):
    """Only ASCII, as a terminal in the C locale can show; every sign stays as wide as it was."""

    def apply(self, segments: list[Segment], background: Rgb) -> list[Segment]:
        """Return the segments in the signs of ASCII."""
        del background
        return [Segment("".join(map(in_ascii, text)), style, control) for text, style, control in segments]


def in_ascii(sign: str) -> str:
    """Return an ASCII sign as wide as another.

    >>> "".join(map(in_ascii, "▸ 58 ± 1 é 漢"))
    '> 58 ~ 1 e ??'
    """
    if sign.isascii():
        return sign
    bare = unicodedata.normalize("NFKD", sign)[:1]
    plain = ASCII.get(sign) or ("+" if ord(sign) in FRAMES else bare if bare.isascii() else "")
    return plain or "?" * cell_len(sign)
