"""What a person sets once: what an hour is worth, whether closed cases teach, and the units shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class CaseSettings:
    """Settings of the walk; `money_per_minute` 0 lets parts money count by itself."""

    money_per_minute: float = 1.0
    learn: bool = True
    units: Literal["us", "metric"] = "us"
