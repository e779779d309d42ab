"""Bad scenario files: `good.yaml` with something changed, and what must be said about it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

GOOD = (Path(__file__).parent / "good.yaml").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Case:
    """A change to the good file and the problem that must come of it.

    `at` is text of the line that must be named (of the first such line), `message` and `cure` are
    pieces of what must be said; `code` is the exit code.
    """

    name: str
    changes: tuple[tuple[str, str], ...]
    at: str
    key: str
    message: str
    cure: str
    code: int = 3

    def text(self) -> str:
        text = GOOD
        for old, new in self.changes:
            assert text.count(old) == 1, (self.name, old)
            text = text.replace(old, new)
        return text

    def line(self) -> int:
        lines = self.text().splitlines()
        return 1 + next(i for i, line in enumerate(lines) if self.at in line)


def case(name: str, old: str, new: str, at: str, key: str, message: str, cure: str) -> Case:
    return Case(name, ((old, new),), at, key, message, cure)


PUMP = "kind: lift\n    flow: 120 m3/h"
TANK = "kind: round tank"
SPILLWAY = "kind: overflow\n    crest: 0.40 m\n    width: 0.6 m"
DRAIN = "kind: pipe\n    length: 12 m\n    diameter: 230 mm\n    fittings: {bend 90: 2}"
FOULED = "fouled: {condition: fouled}"
STATES = "duty states:\n"
TO_WASTE = (SPILLWAY, "kind: discharge\n    flow: 1.2 m3/h")
"""The overflow becomes a stated discharge: nothing closes the levels any more."""


def flow(name: str, written: str, message: str, cure: str) -> Case:
    new = f"kind: lift\n    flow: {written}"
    return case(name, PUMP, new, f"flow: {written}", "elements: pump: flow", message, cure)


def curve(name: str, written: str, message: str, cure: str) -> Case:
    new = f"kind: lift\n    curve: {written}"
    return case(name, PUMP, new, f"curve: {written}", "elements: pump: curve", message, cure)


def count(written: str, message: str, cure: str) -> Case:
    new, key = f"{TANK}\n    count: {written}", "elements: tank: count"
    return case(f"count {written}", TANK, new, f"count: {written}", key, message, cure)


def state(name: str, written: str, key: str, message: str, cure: str) -> Case:
    new = f"fouled: {{{written}}}"
    return case(name, FOULED, new, new, f"duty states: fouled: {key}", message, cure)


def levels(
    name: str, entries: str, at: str, key: str, message: str, cure: str, *more: tuple[str, str],
    code: int = 3,
) -> Case:  # fmt: skip
    changes = (*more, (STATES, f"levels:\n{entries}\n{STATES}"))
    return Case(name, changes, at, key, message, cure, code)


QUANTITIES = [
    flow("unit missing", "120", "'120' has no unit; a flow is due", "the unit that is meant"),
    flow("not a number", ".nan", "not a finite number", "one number and one unit"),
    flow("infinite", "inf m3/h", "not a finite number", "one number and one unit"),
    flow("low line", "1_000 m3/h", "thousands set apart", "write 1000 m3/h"),
    flow("date", "2024-01-01", "looks like a date", "one number and one unit"),
    flow("time of day", "12:30", "looks like a time of day", "one number and one unit"),
    flow("nothing", "", "nothing is written; a flow is due", "one number and one unit"),
    flow("list", "[120 m3/h]", "a list stands where a flow is due", "one number and one unit"),
    flow("zero flow", "0 m3/h", "must be above 0 m3/h", "above 0 m3/h"),
    flow("beyond floats", "1e999 m3/h", "too large to reckon with", "check the exponent"),
    flow("beyond farms", "1e99 m3/h", "larger than anything", "the unit and the exponent"),
    flow("hardly any", "1e-30 m3/h", "smaller than anything", "the unit and the exponent"),
    case("decimal comma", "diameter: 6 m", "diameter: 6,5 m", "6,5 m", "elements: tank: diameter",
         "decimal comma", "write 6.5 m"),
    case("wrong dimension", "area: 5 m2", "area: 5 m", "area: 5 m", "elements: sump: area",
         "'m' is a length; an area is due", "m2"),
    case("unknown unit", "length: 10 m", "length: 10 ft", "10 ft", "elements: channel: length",
         "'ft' is no known unit", "(m, cm, mm)"),
    case("negative length", "length: 10 m", "length: -10 m", "-10 m", "elements: channel: length",
         "is negative", "leave out the '-'"),
    case("too warm", "12 degC", "50 degC", "50 degC", "water: temperature",
         "at most 40 degC", "at most 40 degC"),
    case("share over 100 %", DRAIN, "kind: opening\n    invert: 0.2 m\n    height: 30 cm\n"
         "    width: 1 m\n    blinded: 120 %", "120 %", "elements: drain: blinded",
         "at most 95 %", "at most 95 %"),
    count("0", "not a whole number from 1 up", "plain digits"),
    count("2.5", "not a whole number from 1 up", "plain digits"),
    count("99999", "at most 10000", "at most 10000"),
    case("curve that is a word", PUMP, "kind: lift\n    curve: steep", "curve: steep",
         "elements: pump: curve", "a list of points is due", "[900 m3/h, 0.2 m]"),
    curve("curve that rises", "[[0 m3/h, 1 m], [150 m3/h, 2 m]]", "the head rises with flow",
          "leave out the part"),
    curve("curve of one point", "[[0 m3/h, 1 m]]", "two points or more", "add points"),
    curve("curve without units", "[[0 m3/h, 1], [150 m3/h, 0.5 m]]", "'1' has no unit",
          "the unit that is meant"),
    curve("curve out of order", "[[150 m3/h, 1 m], [0 m3/h, 0 m]]", "must rise", "sort them"),
]  # fmt: skip

WORDS = [
    case("unknown key", "length: 10 m", "lenght: 10 m", "lenght", "elements: channel: lenght",
         "`lenght` is not known here", "did you mean `length`?"),
    case("unknown section", STATES, "duty state:\n", "duty state:", "duty state",
         "is not a section", "did you mean `duty states`?"),
    case("unknown kind", "kind: sump", "kind: sumpf", "sumpf", "elements: sump: kind",
         "not a kind of element", "did you mean `sump`?"),
    case("kind missing", "    kind: sump\n", "", "  sump:", "elements: sump", "has no `kind`",
         "add `kind: ...`"),
    case("missing field", "    area: 4 m2\n", "", "  filter box:", "elements: filter box",
         "`area` is missing (Plan area of one unit)", "add `area: ...`"),
    case("section missing", "water:\n  temperature: 12 degC\n", "", "loopplan: 1", "",
         "the section `water` is missing", "add `water:`"),
    case("element named twice", "  sump:\n    kind", "  tank:\n    kind", "  tank:",
         "elements: tank", "stands twice: in line 12 and 35", "rename one"),
    case("bad fitting", "bend 90", "bent 90", "bent 90", "elements: drain: fittings",
         "`bent 90` is not a fitting", "did you mean `bend 90`?"),
    case("fittings without number", "{bend 90: 2}", "[bend 90]", "[bend 90]",
         "elements: drain: fittings", "`fitting: how many` is due", "{bend 90: 2}"),
    case("half a fitting", "bend 90: 2", "bend 90: 2.5", "2.5", "elements: drain: fittings",
         "not a whole number", "plain digits"),
    case("bad form", "crest: 0.40 m", "crest: 0.40 m\n    form: triangle", "triangle",
         "elements: spillway: form", "not one of the choices", "V-notch"),
    case("outlet of another kind", "{kind: weir, crest", "{kind: wier, crest", "wier",
         "elements: tank: outlet: kind", "cannot stand here", "weir, opening, pipe"),
    case("outlet without kind", "{kind: weir, crest", "{crest", "outlet:",
         "elements: tank: outlet", "not said what stands here", "weir, opening, pipe"),
    case("unit missing in an outlet", "crest: 1.20 m", "crest: 1.20", "crest: 1.20,",
         "elements: tank: outlet: crest", "'1.20' has no unit; a level is due",
         "the unit that is meant"),
    case("format version", "loopplan: 1", "loopplan: 2", "loopplan: 2", "loopplan",
         "format version 2", "`loopplan: 1`"),
    state("unknown field of a state", "conditon: fouled", "conditon", "`conditon` is not known",
          "did you mean `condition`?"),
    state("unknown condition", "condition: dirty", "condition", "not one of the choices",
          "clean or fouled"),
    state("change of an unknown element", "change: {tnak: {diameter: 5 m}}", "change: tnak",
          "`tnak` is not an element", "did you mean `tank`?"),
    state("change without unit", "change: {tank: {diameter: 5}}", "change: tank: diameter",
          "'5' has no unit", "the unit that is meant"),
    state("change of kind", "change: {tank: {outlet: {kind: opening, invert: 0.5 m, height: 10 cm,"
          " width: 1 m}}}", "change: tank", "into another kind of passage", "change sizes only"),
    state("level that is not given", "levels: {sump: 0.5 m}", "levels: sump",
          "the level of `sump` is not given", "under `levels`"),
    state("level of an unknown element", "levels: {smup: 0.5 m}", "levels: smup",
          "`smup` is not an element", "did you mean `sump`?"),
]  # fmt: skip

SHAPES = [
    case("crest above wall", "crest: 1.20 m", "crest: 1.70 m", "1.70", "elements: tank: outlet",
         "the sill (1.700 m) stands above the wall top (1.600 m)", "lower the sill"),
    case("wall below floor", "wall top: 1.60 m", "wall top: -0.10 m", "-0.10 m",
         "elements: tank: wall top", "(-0.100 m) is not above the floor (0.000 m)", "datum"),
    case("V-notch without angle", "    width: 0.6 m\n  pump", "    form: V-notch\n  pump",
         "  spillway:", "elements: spillway: angle", "needs `angle`", "add `angle: ...`"),
    case("channel without section", "    width: 0.6 m\n    floor up", "    floor up",
         "  channel:", "elements: channel: width", "needs one section", "`width`"),
    case("two friction laws", "    fittings: {bend 90: 2}", "    friction factor: 0.02\n"
         "    chezy: 60", "chezy", "elements: drain: chezy", "two friction laws", "keep one"),
    case("flow and curve", PUMP, PUMP + "\n    curve: [[0 m3/h, 1 m], [150 m3/h, 0.5 m]]",
         "flow: 120 m3/h", "elements: pump: flow", "both a flow and a curve", "ask for a head"),
    case("idle lift", PUMP, "kind: lift", "  pump:", "elements: pump",
         "nothing says what this lift carries", "`flow: ...` or `curve: ...`"),
]  # fmt: skip
