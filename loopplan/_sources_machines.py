"""The bibliography of pumps, motors, blowers and air pipes; see `loopplan.sources`."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopplan.sources import Evidence

MACHINES: tuple[tuple[str, str, Evidence], ...] = (
    (
        "fritsch-butland-1984",
        "Fritsch and Butland 1984: local monotone piecewise cubic interpolants, SIAM J. Sci. Stat. "
        "Comput. 5",
        "from memory",
    ),
    (
        "affinity",
        "Affinity of one pump at two speeds: flow with the speed, head with its square",
        "closed form",
    ),
    (
        "iso-9906",
        "ISO 9906:2012: acceptance tests of rotodynamic pumps, grades and tolerances",
        "from memory",
    ),
    (
        "assumed-pump-shape",
        "loopplan's own assumption on the shape of curves of which only the best point is known; "
        "textbooks agree on the trend with specific speed",
        "common practice",
    ),
    (
        "gulich-classes",
        "Gülich, Centrifugal Pumps: classes by specific speed (limits also seen in web articles, "
        "which overlap them)",
        "from memory",
    ),
    (
        "gulich-3-9",
        "Gülich, Centrifugal Pumps, table 3.9: best-point efficiency of good industrial practice",
        "from memory",
    ),
    (
        "gulich-suction",
        "Gülich, Centrifugal Pumps: suction specific speed of usual impellers, 160 to 220",
        "from memory",
    ),
    (
        "sarbu-borza-1998",
        "Sârbu and Borza 1998: energetic optimisation of water pumping, Periodica Polytechnica "
        "Mech. Eng. 42 (efficiency at another speed)",
        "from memory",
    ),
    (
        "eu-547-2012",
        "Commission Regulation (EU) 547/2012, Annex III: ecodesign of water pumps (scope and dates "
        "read; formula agrees in structure with 10 CFR 431 subpart Y; constants from memory)",
        "from memory",
    ),
    (
        "npsh-margin",
        "note on NPSH that cites ANSI/HI 9.6.1: margin of some 3 ft and ratio 1.1 in general "
        "service",
        "read",
    ),
    ("hi-9-6-6", "ANSI/HI 9.6.6: pump piping, most velocity of suction pipes", "from memory"),
    (
        "hi-9-8-bell",
        "ANSI/HI 9.8-1998: velocity and clearances of suction bells",
        "from memory",
    ),
    ("iec-60072-1", "IEC 60072-1: standard outputs of electric motors", "from memory"),
    (
        "iec-60034-30-1",
        "IEC 60034-30-1:2014: efficiency classes of line-operated motors, 50 Hz (also Regulation "
        "(EU) 2019/1781 Annex I)",
        "from memory",
    ),
    (
        "eu-2019-1781",
        "Commission Regulation (EU) 2019/1781: ecodesign of motors and drives, as told in an IEA "
        "4E note",
        "read",
    ),
    (
        "cfr-431-y",
        "10 CFR 431 subpart Y, appendix A: losses of motors, and of motor and drive, at part load "
        "(read in a public implementation of the rule)",
        "read",
    ),
    (
        "doe-motor-tip-11",
        "US DOE motor tip sheet 11: efficiency of pulse-width-modulated drives by size and load",
        "from memory",
    ),
    (
        "epa-832-r-10-005",
        "EPA 832-R-10-005 (2010): energy conservation measures for wastewater treatment, "
        "efficiency of blower types",
        "from memory",
    ),
    (
        "side-channel-range",
        "trade article on regenerative blowers for aquaculture (pressures to 700 mbar, best under "
        "3 m; read); efficiency from memory, not sure",
        "from memory",
    ),
    (
        "metcalf-eddy-5-77",
        "Metcalf & Eddy, 5th ed., eq. 5-77: adiabatic blower power (quoted in the text of an open "
        "sanitation library, read)",
        "read",
    ),
    (
        "metcalf-eddy-air-pipes",
        "Metcalf & Eddy: velocities in air headers by diameter",
        "from memory",
    ),
    (
        "isothermal-pipe",
        "Isothermal flow of an ideal gas in a pipe with friction",
        "closed form",
    ),
)
"""Key, text and evidence of each source."""
