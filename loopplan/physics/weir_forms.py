"""Forms of crest, written as coefficients of the one weir law.

Compile time only: arguments are checked. Heads are levels above the crest well before it; the
approach is a basin or a slow channel (the sharp forms carry the approach velocity in h/p).
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import positive, within
from loopplan.physics.constants import GRAVITY

_SHARP = 2.0 / 3.0 * math.sqrt(2.0 * GRAVITY)
_BROAD = (2.0 / 3.0) ** 1.5 * math.sqrt(GRAVITY)
_KH = 0.001

# Width share b/B; Ce = a + b h/p; width correction kb [m]. ISO 1438, from memory.
_SHARES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
_CE = (0.587, 0.589, 0.591, 0.593, 0.596, 0.602)
_CE_RISE = (-0.0023, -0.0018, 0.0058, 0.018, 0.045, 0.075)
_KB = (0.0024, 0.0024, 0.0027, 0.0036, 0.0042, -0.0009)

SQUARE_CREST_CD = 0.864
"""Coefficient [-] of a long broad crest with square edges (`iso-3846`, from memory)."""

ROUNDED_CREST_CD = 0.95
"""Coefficient [-] of a sill whose upstream edge is rounded (`lal-broad`)."""

BROAD_MODULAR_LIMIT = 0.75
"""Submergence [-] up to which a broad or rounded crest runs free (common practice)."""


@dataclass(frozen=True)
class WeirCoefficients:
    """One crest in the form of the weir law.

    Attributes:
        c0: flow coefficient with its width [m^(3-n)/s].
        c1: growth of it with head [m^(2-n)/s].
        kh: head correction [m].
        exponent: exponent n of the head [-].
        modular_limit: submergence up to which the flow is free [-].
        drown_exponent: exponent of the drowning factor [-].
        source: key of the source.
        range_low, range_high: heads [m] between which the source holds.
    """

    c0: float
    c1: float
    kh: float
    exponent: float
    modular_limit: float
    drown_exponent: float
    source: str
    range_low: float
    range_high: float


def _level(
    c0: float, source: str, low: float, high: float, c1: float = 0.0, kh: float = 0.0
) -> WeirCoefficients:
    return WeirCoefficients(c0, c1, kh, 1.5, 0.0, 1.5, source, low, high)


def _kindsvater_carter(width: float, crest_height: float, share: float) -> WeirCoefficients:
    b = float(positive("width", width, "m"))
    p = float(positive("crest height", crest_height, "m"))
    full = _SHARP * (b + float(np.interp(share, _SHARES, _KB)))
    return _level(
        full * float(np.interp(share, _SHARES, _CE)),
        "iso-1438",
        0.03,
        2.5 * p,
        full * float(np.interp(share, _SHARES, _CE_RISE)) / p,
        _KH,
    )


def _sharp(width: float, crest_height: float) -> WeirCoefficients:
    return _kindsvater_carter(width, crest_height, 1.0)


def _contracted(width: float, crest_height: float, channel_width: float) -> WeirCoefficients:
    positive("channel width", channel_width, "m")
    share = float(within("width over channel width", width / channel_width, 0.0, 1.0))
    return _kindsvater_carter(width, crest_height, share)


def _rehbock(width: float, crest_height: float) -> WeirCoefficients:
    full = _SHARP * float(positive("width", width, "m"))
    p = float(positive("crest height", crest_height, "m"))
    return _level(0.602 * full, "rehbock", 0.03, min(p, 0.8), 0.083 * full / p, 0.0012)


def _v_notch(angle: float) -> WeirCoefficients:
    a = float(within("angle", angle, math.radians(20.0), math.radians(100.0), "rad"))
    t = math.degrees(a)
    # Curves through the chart over the angle, shifted (by 0.0001 and 0.03 mm) to meet the
    # values of the standard at 90 degrees.
    rise = t - 90.0
    ce = 0.578 - 8.74466963e-4 * rise + 6.10393334e-6 * (t * t - 8100.0)
    kh = 0.00085 + 0.3048 * (
        -3.3955535e-4 * rise + 3.29819003e-6 * (t * t - 8100.0) - 1.06215442e-8 * (t**3 - 729000.0)
    )
    c0 = 8.0 / 15.0 * math.sqrt(2.0 * GRAVITY) * ce * math.tan(a / 2.0)
    return WeirCoefficients(c0, 0.0, kh, 2.5, 0.0, 2.5, "iso-1438", 0.05, 0.38)


def _long(width: float, cd: float, source: str, low: float) -> WeirCoefficients:
    c0 = float(positive("coefficient", cd)) * _BROAD * float(positive("width", width, "m"))
    return WeirCoefficients(c0, 0.0, 0.0, 1.5, BROAD_MODULAR_LIMIT, 1.5, source, low, 1.5)


def _broad(width: float, coefficient: float = SQUARE_CREST_CD) -> WeirCoefficients:
    return _long(width, coefficient, "iso-3846", 0.06)


def _rounded(width: float, coefficient: float = ROUNDED_CREST_CD) -> WeirCoefficients:
    return _long(width, coefficient, "lal-broad", 0.05)


def _coefficient(width: float, coefficient: float) -> WeirCoefficients:
    cd = float(within("coefficient", coefficient, 1e-3, 1.2))
    return _level(_SHARP * cd * float(positive("width", width, "m")), "stated-weir", 0.0, math.inf)


WEIR_FORMS: dict[str, Callable[..., WeirCoefficients]] = {
    "sharp": _sharp,
    "rehbock": _rehbock,
    "contracted": _contracted,
    "V-notch": _v_notch,
    "broad": _broad,
    "rounded": _rounded,
    "coefficient": _coefficient,
}
"""Forms of crest by name."""


def weir_coefficients(form: str, **geometry: float) -> WeirCoefficients:
    """Coefficients of the weir law for one form of crest.

    ============  ====================================  ================================
    form          geometry                              source, stated error
    ============  ====================================  ================================
    sharp         width, crest_height                   `iso-1438`, 1 to 2 %
    rehbock       width, crest_height                   `rehbock`, 1 to 2 %
    contracted    width, crest_height, channel_width    `iso-1438`, 1 to 2 %
    V-notch       angle [rad], 0.35 to 1.75             `iso-1438`, 1 to 2 %
    broad         width, coefficient = 0.864            `iso-3846`, 3 to 5 %
    rounded       width, coefficient = 0.95             `lal-broad`, 5 %
    coefficient   width, coefficient (on 2/3 sqrt 2g)   as stated by the user
    ============  ====================================  ================================

    Args:
        form: form of the crest, one of the above.
        geometry: lengths [m], angle [rad], coefficient [-], as the form needs.

    Returns:
        The coefficients; c0 and c1 carry the width.

    Raises:
        ValueError: if the form is not known, or a size is missing, superfluous or out of range.
    """
    build = WEIR_FORMS.get(form)
    if build is None:
        near = difflib.get_close_matches(form, WEIR_FORMS, 1, 0.4)
        hint = f"did you mean '{near[0]}'?" if near else "known: " + ", ".join(WEIR_FORMS)
        raise ValueError(f"'{form}' is not a form of crest; {hint}")
    try:
        return build(**geometry)
    except TypeError as error:
        raise ValueError(f"crest '{form}': {error}") from None
