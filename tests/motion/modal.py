"""A plucked stiff string between two pinned ends, as the sum of its own partials.

    m u'' + 2 m s u' = T u_xx - E I u_xxxx,    u = u_xx = 0 at both ends

Partial k has wave number q = k pi / l and frequency w^2 = (T q^2 + E I q^4) / m, and under a
point force F at a the string rests at 2 F sin(q a) / (l (T q^2 + E I q^4)) sin(q x). Let go from
there at rest it swings as cos(w t) exp(-s t), s = DECAY_PER_S + DECAY_M2_PER_S q^2 (light, so w
is the undamped one). Exact but for the partials left out.
"""

from __future__ import annotations

import numpy as np

from .wires import DECAY_M2_PER_S, DECAY_PER_S, Array, Wires

#: Partials summed: those left out rest at 2 / (pi^2 K) of the pluck together, 0.003 of it, at
#: the corner, and take turns in sign elsewhere. See the convergence test.
PARTIALS = 60
#: Moments looked at in each swing of the lowest partial: 4 in each swing of the highest.
MOMENTS = 240
#: Swings followed. The first is the deepest of an ideal string; a stiff string's short waves run
#: ahead of its long ones and meet them again later, until they have died. See the test.
SWINGS = 32.0


def resting(wire: Wires, length: Array, pluck: Array, at: Array, partials: int = PARTIALS) -> Array:
    """Partials of the pulled string, per newton, at places: [strings, places, partials], m.

    length, pluck: [strings]; at: [strings, places], all from the same end, m.
    """
    q = np.arange(1, partials + 1) * np.pi / length[:, None]
    stiff = wire.tension[:, None] * q**2 + wire.bending[:, None] * q**4
    size = 2.0 * np.sin(q * pluck[:, None]) / (length[:, None] * stiff)
    return np.asarray(size[:, None, :] * np.sin(at[:, :, None] * q[:, None, :]))


def frequencies(wire: Wires, length: Array, partials: int = PARTIALS) -> Array:
    """[strings, partials], rad/s, undamped."""
    q = np.arange(1, partials + 1) * np.pi / length[:, None]
    stiff = wire.tension[:, None] * q**2 + wire.bending[:, None] * q**4
    return np.asarray(np.sqrt(stiff / wire.mass[:, None]))


def motion(
    wire: Wires,
    length: Array,
    pluck: Array,
    at: Array,
    swings: float = SWINGS,
    partials: int = PARTIALS,
    moments: int = MOMENTS,
    damped: bool = True,
) -> Array:
    """Displacement per newton, [strings, places, moments], m."""
    shape = resting(wire, length, pluck, at, partials)
    w = frequencies(wire, length, partials)
    q2 = (np.arange(1, partials + 1) * np.pi / length[:, None]) ** 2
    decay = DECAY_PER_S + DECAY_M2_PER_S * q2 if damped else np.zeros_like(q2)
    last = int(swings * moments)
    fine, coarse = np.arange(64), np.arange(last // 64 + 1)
    out = np.empty((*at.shape, last + 1))
    for k in range(length.size):
        # every moment as a coarse one and a fine one: exp(a (s + t)) = exp(a s) exp(a t)
        step = (1j * w[k] - decay[k])[:, None] * 2.0 * np.pi / (moments * w[k, 0])
        early, late = np.exp(step * fine), np.exp(step * 64 * coarse)
        moving = (late[:, :, None] * early[:, None, :]).real.reshape(partials, -1)
        out[k] = shape[k] @ moving[:, : last + 1]
    return out


def dips(wire: Wires, length: Array, pluck: Array, at: Array, **how: float) -> tuple[Array, Array]:
    """How far a string comes down over time, per newton, pulled up and pushed down first.

    Each [strings, places], m, not negative. The equation is linear: pushed is pulled turned over.
    """
    u = motion(wire, length, pluck, at, **how)  # type: ignore[arg-type]
    return -u.min(axis=2), u.max(axis=2)
