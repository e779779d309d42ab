"""The bibliography, as data.

Every number of loopplan names a key of `SOURCES`. `evidence` says how the source was had: `read`
(the figure was seen in a text), `from memory` (known figure, page not seen again), `closed form`
(follows from mechanics), `common practice` (the trade builds by it; no source), `stated` (the
user's own figure).
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Literal

from loopplan._sources_machines import MACHINES

Evidence = Literal["read", "from memory", "closed form", "common practice", "stated"]


@dataclass(frozen=True)
class Source:
    """One source.

    Attributes:
        key: short name that results carry.
        text: the source in full.
        evidence: how it was had.
    """

    key: str
    text: str
    evidence: Evidence


def _list(*rows: tuple[str, str, Evidence]) -> dict[str, Source]:
    found: dict[str, Source] = {}
    for key, text, evidence in rows:
        if key in found:
            raise ValueError(f"source '{key}' stands twice in the bibliography")
        found[key] = Source(key, text, evidence)
    return found


SOURCES: dict[str, Source] = _list(
    # Water and air.
    (
        "eos-80",
        "UNESCO Technical Papers in Marine Science 36 (1981) and 44 (1983): equation of state of "
        "sea water, one-atmosphere form",
        "from memory",
    ),
    (
        "iapws-sr6",
        "IAPWS SR6-08: properties of liquid water at 0.1 MPa, viscosity",
        "from memory",
    ),
    ("iapws-sr1", "IAPWS SR1-86: saturation properties of water, vapour pressure", "from memory"),
    (
        "sharqawy-2010",
        "Sharqawy, Lienhard and Zubair 2010: thermophysical properties of seawater, Desalination "
        "and Water Treatment 16, eq. 22-23 and vapour pressure",
        "from memory",
    ),
    ("iso-2533", "ISO 2533: standard atmosphere", "from memory"),
    ("ideal-gas", "Law of ideal gases", "closed form"),
    (
        "wmo-8-magnus",
        "WMO-No. 8, Guide to Instruments and Methods of Observation: vapour pressure over water, "
        "Magnus form 6.112 hPa, 17.62, 243.12",
        "from memory",
    ),
    # Friction.
    (
        "energy-past-branch",
        "Energy kept along a channel past a side branch, which sees the level",
        "closed form",
    ),
    ("darcy-weisbach", "Darcy and Weisbach: friction on the velocity head", "closed form"),
    ("hagen-poiseuille", "Hagen and Poiseuille: laminar flow in a round pipe", "closed form"),
    (
        "colebrook",
        "Colebrook 1939 (with White): transition law of turbulent pipe friction, 3.7 and 2.51",
        "from memory",
    ),
    (
        "swamee-jain",
        "Swamee and Jain 1976: explicit friction factor, used as a start",
        "from memory",
    ),
    (
        "hazen-williams",
        "Hazen and Williams formula, SI constant 10.667 (chosen to meet remembered heads of a "
        "published two-loop case; constants from 10.51 to 10.90 are in use)",
        "from memory",
    ),
    ("manning", "Manning (Gauckler): resistance of open channels", "from memory"),
    ("chezy", "Chezy: resistance of open channels with a stated coefficient", "closed form"),
    (
        "standard-step",
        "energy equation stepped along the channel (standard step)",
        "closed form",
    ),
    (
        "chow-1959",
        "Chow, Open-Channel Hydraulics (1959): roughness of table 5-6, normal and critical depth, "
        "profiles",
        "from memory",
    ),
    (
        "cash-karp-1990",
        "Cash and Karp 1990: embedded Runge-Kutta steps, used for a channel's depth",
        "from memory",
    ),
    (
        "preissmann-slot",
        "Preissmann: narrow slot over a closed section, so that one law serves part-full and full",
        "from memory",
    ),
    (
        "khan-10-6",
        "Khan, Fluid Mechanics, example 10.6 p. 380: normal and critical depth of a trapezoid",
        "read",
    ),
    (
        "brasch-whyman-5-2",
        "Brasch and Whyman, Problems in Fluid Flow, example 5.2 p. 85: normal depth of a trapezoid",
        "read",
    ),
    (
        "subramanya-12",
        "Subramanya, 1000 Solved Problems in Fluid Mechanics, chapter 12: critical flow, "
        "pp. 278-293",
        "read",
    ),
    (
        "cengel-13-8",
        "Cengel and Cimbala, Fluid Mechanics, example 13-8 p. 735: hydraulic jump",
        "read",
    ),
    (
        "douglas-16-3",
        "Douglas, Gasiorek and Swaffield, Fluid Mechanics, example 16.3 p. 546: backwater by steps "
        "of depth",
        "read",
    ),
    # Fittings.
    (
        "ew-table-6-4",
        "table 6-4 of an environmental engineering textbook (inferred: Weiner and Matthews): "
        "entrances, bends, valves",
        "read",
    ),
    (
        "idelchik-3",
        "Idelchik, Handbook of Hydraulic Resistance, section 3: rounded entrance",
        "from memory",
    ),
    ("borda-carnot", "Borda and Carnot: loss of a jet that spreads", "closed form"),
    (
        "rennels-2012",
        "Rennels and Hudson, Pipe Flow (2012): bends and conical expansions, as coded in the open "
        "library fluids",
        "from memory",
    ),
    ("mitre-table-26-3", "civil engineering reference, table 26-3: mitre bends", "read"),
    (
        "munson-8-2",
        "Munson, Young and Okiishi, Fundamentals of Fluid Mechanics, table 8.2: tees",
        "read",
    ),
    (
        "weisbach-cc",
        "Weisbach's jet contraction, table 9.2 after Streeter and Wylie 1975: sudden contraction",
        "read",
    ),
    (
        "gate-tables",
        "table 9.2 after Kalsi and Tullis 1993 (open) and Munson table 8.2 (partly closed): gate "
        "valves",
        "read",
    ),
    (
        "weisbach-butterfly",
        "Weisbach: butterfly valve by angle; open valve 0.56 from table 9.2 after Kalsi and Tullis",
        "from memory",
    ),
    (
        "crane-410",
        "Crane TP-410: valves as multiples of the fully turbulent friction factor, as coded in the "
        "open library fluids",
        "from memory",
    ),
    # Weirs and openings.
    (
        "iso-1438",
        "ISO 1438: thin-plate weirs (Kindsvater and Carter; V-notch of Shen)",
        "from memory",
    ),
    ("rehbock", "Rehbock 1929: full-width thin-plate weir, SI form", "from memory"),
    (
        "iso-3846",
        "ISO 3846: rectangular broad-crested weirs, 1.705 Cd; basic coefficient 0.864",
        "from memory",
    ),
    (
        "lal-broad",
        "Lal, Hydraulics, example 4.13: broad crest, 0.95 of the ideal flow; taken for a rounded "
        "upstream edge",
        "read",
    ),
    (
        "villemonte-1947",
        "Villemonte 1947: submerged weirs; classical methods for drowned weirs differ by some 20 %",
        "read",
    ),
    ("stated-weir", "coefficient of discharge stated in the scenario file", "stated"),
    (
        "split-opening",
        "flow above the tailwater free, below it drowned (split method; Lal, Hydraulics, example "
        "4.14)",
        "read",
    ),
    ("orifice", "Bernoulli and continuity with a coefficient of discharge", "closed form"),
    ("nozzle", "jet head v2/2g over the square of the velocity coefficient", "closed form"),
    # Racks and screens.
    ("kirschmer-1926", "Kirschmer 1926: loss of bar racks", "from memory"),
    (
        "usbr-rack",
        "Creager; United States Bureau of Reclamation: loss of racks by net area",
        "from memory",
    ),
    (
        "idelchik-8-1",
        "Idelchik, Handbook of Hydraulic Resistance, diagram 8-1: thin perforated plate",
        "from memory",
    ),
    (
        "idelchik-8-6",
        "Idelchik, Handbook of Hydraulic Resistance, diagram 8-6: mesh of round wire",
        "from memory",
    ),
    # Beds.
    ("ergun-1952", "Ergun 1952: flow through packed columns, 150 and 1.75", "read"),
    ("buoyant-weight", "buoyant weight of the grains over the bed", "closed form"),
    # Falls.
    ("rouse-1936", "Rouse 1936: depth at a free overfall, 0.715 of critical", "from memory"),
    ("rand-1955", "Rand 1955: flow over a vertical drop (in Chow 1959)", "from memory"),
    # Pipes by name, inlets and the make-up.
    (
        "iso-4065",
        "ISO 4065: thermoplastics pipes, universal wall thickness table; e = d/(2S + 1) rounded up "
        "to 0.1 mm, S by the R10 series",
        "from memory",
    ),
    (
        "iso-4427",
        "ISO 4427-2 and EN 12201-2: polyethylene pipes for water, outside diameters and walls",
        "from memory",
    ),
    (
        "iso-1452",
        "ISO 1452-2: PVC-U pipes for water, outside diameters, walls and pressure ratings",
        "from memory",
    ),
    (
        "iso-10467",
        "ISO 10467 and EN 1796: glass-reinforced pipes, nominal sizes of series A (by bore)",
        "from memory",
    ),
    (
        "iso-4200",
        "ISO 4200 and EN 10220: steel tubes, outside diameters and walls",
        "from memory",
    ),
    (
        "hi-9-8",
        "ANSI/HI 9.8: least submergence of an intake, S = D (1 + 2.3 Fr), as quoted in engineering "
        "notes",
        "from memory",
    ),
    (
        "en-1717",
        "EN 1717: air gap of type AA, twice the bore and at least 20 mm",
        "from memory",
    ),
    # Air and water together.
    (
        "zuber-findlay-1965",
        "Zuber and Findlay 1965: average volumetric concentration in two-phase flow systems, J. "
        "Heat Transfer 87 (drift flux, C0 1.2)",
        "from memory",
    ),
    (
        "harmathy-1960",
        "Harmathy 1960: velocity of large drops and bubbles, AIChE J. 6 (coefficient 1.53)",
        "from memory",
    ),
    (
        "kataoka-ishii-1987",
        "Kataoka and Ishii 1987: drift flux model for large diameter pipe, Int. J. Heat Mass "
        "Transfer 30",
        "from memory",
    ),
    (
        "hibiki-ishii-2003",
        "Hibiki and Ishii 2003: distribution parameter and drift velocity in large diameter pipes, "
        "Int. J. Heat Mass Transfer 46",
        "from memory",
    ),
    (
        "akita-yoshida-1973",
        "Akita and Yoshida 1973: gas holdup in bubble columns, Ind. Eng. Chem. Process Des. Dev. "
        "12 (columns up to 0.6 m)",
        "from memory",
    ),
    (
        "heijnen-vant-riet-1984",
        "Heijnen and van 't Riet 1984: bubble column reactors, Chem. Eng. J. 28 (0.6 jg^0.7)",
        "from memory",
    ),
    (
        "zehner-1986",
        "Zehner 1986: momentum, mass and heat transfer in bubble columns, Int. Chem. Eng. 26 "
        "(centre-line speed)",
        "from memory",
    ),
    (
        "ishii-1977",
        "Ishii 1977, ANL-77-47: one-dimensional drift-flux model, developed flow",
        "from memory",
    ),
    (
        "nicklin-1962",
        "Nicklin, Wilkes and Davidson 1962: two-phase flow in vertical tubes (slugs)",
        "from memory",
    ),
    (
        "reinemann-1990",
        "Reinemann, Parlange and Timmons 1990: theory of small-diameter airlift pumps, Int. J. "
        "Multiphase Flow 16 (abstract read; the formula credited by a second source)",
        "from memory",
    ),
    (
        "kassab-2009",
        "Kassab, Kandil, Warda and Ahmed 2009: air-lift pumps characteristics, Int. J. Heat Fluid "
        "Flow 30:88-98 (third-party digitisation of its figures; 25.4 mm)",
        "read",
    ),
    (
        "todoroki-1973",
        "Todoroki, Sato and Honda 1973: performance of air-lift pump, Bull. JSME 16:733-741 "
        "(third-party digitisation of its figures; 28.3 mm)",
        "read",
    ),
    (
        "iapws-r1",
        "IAPWS R1-76(2014): surface tension of ordinary water",
        "from memory",
    ),
    (
        "equal-thrust",
        "Equal thrust of a still mixture and of still water on both sides of an opening",
        "closed form",
    ),
    (
        "hazen-1904",
        "Hazen 1904: surface load; what rises faster than flow over plan area comes up",
        "closed form",
    ),
    (
        "chandrupatla-1997",
        "Chandrupatla 1997: root by inverse quadratic steps and halving, Adv. Eng. Software 28",
        "from memory",
    ),
    ("trade-practice", "what the trade builds by", "common practice"),
    # Lifts.
    (
        "pfeiffer-malone-2007",
        "Pfeiffer and Malone 2007: Practical design and application of airlift technology for "
        "aquaculture reuse systems, Aquaculture America, abstract p. 710",
        "read",
    ),
    # Gases in water.
    (
        "benson-krause-1984",
        "Benson and Krause 1980/1984, as in Standard Methods 4500-O and USGS memo 2011.03: oxygen "
        "in water",
        "from memory",
    ),
    (
        "hamme-emerson-2004",
        "Hamme and Emerson 2004: solubility of nitrogen in distilled water and seawater, Deep-Sea "
        "Research I 51",
        "from memory",
    ),
    (
        "weiss-1974",
        "Weiss 1974: carbon dioxide in water and seawater, Marine Chemistry 2",
        "from memory",
    ),
    (
        "colt-2012",
        "Colt 2012, Dissolved Gas Concentration in Water: total gas pressure as the sum of partial "
        "pressures",
        "from memory",
    ),
    (
        "mueller-2002",
        "Mueller, Boyle and Popel 2002, Aeration: Principles and Practice, table 3.13: coarse-"
        "bubble diffusers, 3.8 to 5.8 m",
        "read",
    ),
    (
        "hearn-2007",
        "Hearn, Pfeiffer and Malone 2007, USDA-ARS abstract 225945: oxygen transfer of airlifts of "
        "0.10 to 0.20 m",
        "read",
    ),
    (
        "metcalf-eddy-5",
        "Metcalf and Eddy, Wastewater Engineering, 5th edition, p. 762 (as transcribed): field "
        "correction of oxygen transfer",
        "read",
    ),
    (
        "asce-2-06",
        "ASCE 2-06 and EPA 1989: standard and field oxygen transfer, theta 1.024",
        "from memory",
    ),
    (
        "tsivoglou-1968",
        "Tsivoglou and others 1968: transfer rates of gases over that of oxygen (nitrogen 0.94, "
        "carbon dioxide 0.89)",
        "from memory",
    ),
    # Pumps, motors, blowers, air pipes.
    *MACHINES,
    # What the user states.
    ("stated-loss", "loss or coefficient stated in the scenario file", "stated"),
    ("stated-curve", "curve stated in the scenario file", "stated"),
)
"""All sources by key."""


def source(key: str) -> Source:
    """Return a source by its key.

    Raises:
        KeyError: if there is none; the message gives the nearest keys.
    """
    found = SOURCES.get(key)
    if found is None:
        near = ", ".join(difflib.get_close_matches(key, SOURCES, 3, 0.4)) or "none"
        raise KeyError(f"no source '{key}' in the bibliography; near names: {near}")
    return found
