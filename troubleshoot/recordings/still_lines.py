"""Which lines of a sound do not move when the engine's speed moves: those of a fan, a pump or mains hum.

Over the turns of the engine its own lines are narrow and those of a fan are smeared; over time it is the other way
round. How much a line of the engine is smeared over time follows from the speed that was followed, so that the share
of a line that stands still can be told, as long as the speed moves enough.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from troubleshoot.recordings.capture import Numbers

WINDOW_S, SLOW_HZ = 3.0, 100.0
WIDE, WIDE_HZ, WIDE_HALVES = 0.012, 1.5, 0.45
"""How far about a line its power is looked for: share of its frequency and Hz more, at most this share of the way to
the next line."""
NARROW = 1.5
"""What of it counts as narrow, in lines of the window."""
SMEARED = 0.97
"""Share of an engine's line that must be narrow over time at most, to tell it from a fan's."""
LEAST_TOLD = 4
"""Lines of which most seem still, from which the speed that was followed is doubted."""
MOSTLY = 0.5
"""Share of a line from which it is called still; the speed that was followed is not exact, and less tells nothing."""


@dataclass(frozen=True)
class Moving:
    """Power of a sound over the engine's turns and over time, each with Hz to a step and s to a window, and the turns.

    `turned` is the periods of the frequency followed, at `rate` a second.
    """

    turning: tuple[Numbers, float, float]
    still: tuple[Numbers, float, float]
    turned: Numbers
    rate: float

    def still_shares(self, orders: Numbers, hertz: float, half_hz: float) -> Numbers:
        """Return the share of the power at each order that does not move with the engine, 0 where it cannot be told.

        `hertz` is that of one order, `half_hz` how far lines are apart. With s the share of an engine's line that is
        narrow over time, a line of which p stands still has p + (1 - p) s of its power narrow over time, and
        p s + (1 - p) over turns; their ratio gives p. Where most lines seem still, the speed was followed badly.
        """
        found = np.full(orders.size, np.nan)
        for place, order in enumerate(orders.tolist()):
            wide = min(WIDE_HALVES * half_hz, WIDE * order * hertz + WIDE_HZ)
            engine = self._engine_over_time(order, wide)
            if engine < SMEARED:
                ratio = _narrow(self.still, order * hertz, wide) / max(_narrow(self.turning, order * hertz, wide), 1e-9)
                found[place] = (ratio - engine) / ((1.0 - engine) * (1.0 + ratio))
        told = found[np.isfinite(found)]
        if not told.size or (float(np.median(told)) > MOSTLY and told.size >= LEAST_TOLD):
            return np.zeros(orders.size)
        return np.where(found > MOSTLY, np.minimum(found, 1.0), 0.0)

    def _engine_over_time(self, order: float, wide: float) -> float:
        """Return the share of a line of the engine that is narrow over time."""
        time = np.arange(self.turned.size) / self.rate
        mean = (self.turned[-1] - self.turned[0]) / time[-1]
        power, step, window = spectrum(np.exp(2j * np.pi * order * (self.turned - mean * time)), self.rate)
        middle = power.size // 2
        return _narrow((np.roll(power, middle), step, window), middle * step, wide)


def spectrum(samples: Numbers, rate: float) -> tuple[Numbers, float, float]:
    """Return power, Hz to a step, and s to a window; of complex samples over both signs of the frequency."""
    width = min(samples.size, int(WINDOW_S * rate))
    size = 1 << int(2 * width - 1).bit_length()
    both = np.iscomplexobj(samples)
    power = np.zeros(size if both else size // 2 + 1)
    for start in range(0, samples.size - width + 1, max(1, width // 2)):
        part = samples[start : start + width] * np.hanning(width)
        power += np.abs(np.fft.fft(part, size) if both else np.fft.rfft(part, size)) ** 2
    return power, rate / size, width / rate


def _narrow(seen: tuple[Numbers, float, float], hertz: float, wide: float) -> float:
    """Return how much of the power about a frequency is in its highest line."""
    power, step, window = seen
    near = power[max(0, int((hertz - wide) / step)) : int((hertz + wide) / step) + 2]
    place, reach = int(np.argmax(near)), int(np.ceil(NARROW / window / step))
    return float(near[max(0, place - reach) : place + reach + 1].sum() / max(float(near.sum()), 1e-30))
