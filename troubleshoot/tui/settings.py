"""What a person has chosen about the screens, kept as one small JSON file beside the casebook."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import msgspec
from msgspec import Meta, Struct

from troubleshoot.file_writing import write_whole


class ScreenSettings(Struct, frozen=True, kw_only=True, rename="kebab"):
    """Units, colours and habits; every field has a default, unknown fields of a newer program are passed over."""

    units: Literal["us", "metric"] = "us"
    theme: Literal["dark", "bright-sun", "high-contrast"] = "dark"
    animations: bool = False
    learn: bool = True
    money_per_minute: Annotated[float, Meta(ge=0, le=100)] = 1.0


def read_settings(path: Path) -> ScreenSettings:
    """Return the settings in the file; a missing or unreadable file means the defaults."""
    try:
        return msgspec.json.decode(path.read_bytes(), type=ScreenSettings)
    except (OSError, msgspec.DecodeError):
        return ScreenSettings()


def write_settings(path: Path, settings: ScreenSettings) -> None:
    """Write the settings; OSError when the folder cannot be written."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, msgspec.json.format(msgspec.json.encode(settings)))
