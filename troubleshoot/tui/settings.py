"""What a person has chosen about the screens, kept as one small JSON file beside the casebook."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import msgspec
from msgspec import Meta, Struct

from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.file_writing import write_whole

LARGEST = 100_000
"""Bytes of a file of settings."""


class ScreenSettings(Struct, frozen=True, kw_only=True, rename="kebab"):
    """Units, colours and habits; every field has a default, unknown fields of a newer program are passed over."""

    units: Literal["us", "metric"] = "us"
    theme: Literal["dark", "bright-sun", "high-contrast"] = "dark"
    animations: bool = False
    learn: bool = True
    currency: Annotated[str, Meta(max_length=12)] = ""
    name: Annotated[str, Meta(max_length=60)] = ""
    """Who works here, for the trail and the reports."""
    money_per_minute: Annotated[float, Meta(ge=0, le=100)] = 1.0
    tools: tuple[str, ...] | None = None
    """The tools marked for the last case, by their ids; those that most people have until then."""


def read_settings(path: Path) -> tuple[ScreenSettings, str]:
    """Return the settings in the file, and words for a file that cannot be read; the defaults hold then."""
    try:
        return msgspec.json.decode(read_at_most(path, LARGEST), type=ScreenSettings), ""
    except FileNotFoundError:
        return ScreenSettings(), ""
    except (OSError, TooLong, msgspec.MsgspecError, UnicodeError):
        return ScreenSettings(), f"The settings in {path} cannot be read; the usual ones hold. Save them to replace it."


def write_settings(path: Path, settings: ScreenSettings) -> None:
    """Write the settings; OSError when the folder cannot be written."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, msgspec.json.format(msgspec.json.encode(settings)))
