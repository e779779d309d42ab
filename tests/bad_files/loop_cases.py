"""Bad scenario files whose fault lies in how water runs, or in what closes the levels."""

from __future__ import annotations

from tests.bad_files.cases import DRAIN, PUMP, SPILLWAY, TO_WASTE, Case, case, levels

SURPLUS = "  surplus: [sump, spillway]"
WEAK = "[[0 m3/h, 0.5 m], [200 m3/h, 0.1 m]]"
BOX = "  extra: {kind: box, area: 1 m2, floor: 0 m, wall top: 1 m}\n  pump:"

PATHS = [
    case("path through an unknown element", "drain, sump, pump", "drian, sump, pump", "drian",
         "flow paths: loop: 3", "`drian` is not an element", "did you mean `drain`?"),
    case("path of one element", "[well, sump]", "[well]", "[well]", "flow paths: new water",
         "two or more elements", "[element, element, ...]"),
    case("path as text", "[well, sump]", "well, sump", "well, sump", "flow paths: new water",
         "two or more elements", "[element, element, ...]"),
    case("path with a list in it", "[well, sump]", "[well, [sump]]", "[sump]",
         "flow paths: new water: 1", "the name of an element is due", "write a name"),
    case("element in no path", SURPLUS + "\n", "", "  spillway:", "elements: spillway",
         "stands in no flow path", "name it in a flow path"),
    Case("dead end", ((SURPLUS, SURPLUS + "\n  side: [sump, extra]"), ("  pump:", BOX)),
         "  extra:", "elements: extra", "nothing flows out of 'extra'", "discharge"),
    case("loop that ends in its sump", "pump, tank]", "pump, sump]", "  tank:",
         "elements: tank", "nothing flows into 'tank'", "lead a flow path into it"),
    Case("lift that feeds itself", ((SURPLUS, SURPLUS + "\n  ring: [sump, mixer, sump]"),
         ("  pump:", "  mixer: {kind: lift, flow: 3 m3/h}\n  pump:")), "  mixer:",
         "elements: mixer", "'mixer' feeds itself", "lead its flow path on"),
    case("element after itself", "pump, tank]", "pump, pump, tank]", "loop: [tank",
         "flow paths: loop: 6", "'pump' feeds itself", "drop the second mention"),
    case("loop without lift", PUMP, "kind: pipe\n    length: 3 m\n    diameter: 200 mm",
         "  tank:", "elements: tank",
         "tank > channel > filter box > drain > sump > pump > tank has no lift", "put a lift"),
    case("make-up in the middle", "drain, sump, pump", "drain, well, sump, pump", "  well:",
         "elements: well", "'well' is a make-up: nothing can flow into it", "begin a flow path"),
    case("discharge in the middle", "drain, sump, pump", "drain, spillway, sump, pump",
         "  spillway:", "elements: spillway", "leaves the farm", "end the flow path with it"),
    case("two basins with nothing between", "drain, sump, pump", "sump, pump", "  drain:",
         "elements: drain", "stands in no flow path", "name it in a flow path"),
    Case("basins that touch", (("drain, sump, pump", "sump, pump"), (DRAIN, ""),
         ("  drain:\n    \n", "")), "  sump:", "elements: sump",
         "'filter box' and 'sump' are joined with nothing between them", "a weir, an opening"),
]  # fmt: skip

CLOSURES = [
    Case("group fixed by nothing", (TO_WASTE,), "  filter box:", "elements: filter box",
         "{filter box, sump} is fixed by nothing", "outside level, a kept level"),
    levels("group fixed twice", "  - {way: kept level, at: tank, level: 1.3 m, by: drain}",
           "at: tank", "levels: 0: at", "{tank} is fixed twice: it is given at 'tank'",
           "drop this level", (DRAIN, "kind: valve\n    diameter: 230 mm")),
    levels("level given twice", "  - {way: outside level, at: sump, level: 0.3 m}\n"
           "  - {way: outside level, at: sump, level: 0.4 m}", "level: 0.4 m", "levels: 1: at",
           "'sump' is given twice", "drop one entry", TO_WASTE),
    levels("level of no basin", "  - {way: outside level, at: drain, level: 0.3 m}", "at: drain",
           "levels: 0: at", "'drain' has no level of its own", "name a tank", TO_WASTE),
    levels("closure of an unknown element", "  - {way: outside level, at: smup, level: 0.3 m}",
           "smup", "levels: 0: at", "`smup` is not an element", "did you mean `sump`?", TO_WASTE),
    levels("kept level by a pipe", "  - {way: kept level, at: sump, level: 0.3 m, by: drain}",
           "by: drain", "levels: 0: by", "'drain' cannot keep a level", "a lift or a valve",
           TO_WASTE),
    levels("kept level by nobody", "  - {way: kept level, at: sump, level: 0.3 m}", "kept level",
           "levels: 0", "`by` is missing", "add `by: ...`", TO_WASTE),
    levels("kept level by a curve", "  - {way: kept level, at: sump, level: 0.3 m, by: pump}",
           "curve: [[", "elements: pump: curve", "cannot keep a level as well", "drop the curve",
           TO_WASTE, (PUMP, "kind: lift\n    curve: [[0 m3/h, 1 m], [150 m3/h, 0.5 m]]")),
    levels("kept level by a given flow", "  - {way: kept level, at: sump, level: 0.3 m, by: pump}",
           "flow: 120 m3/h", "elements: pump: flow", "cannot keep a level as well",
           "drop the flow", TO_WASTE),
    levels("outside level with a keeper", "  - {way: outside level, at: sump, level: 0.3 m, "
           "by: pump}", "by: pump", "levels: 0: by", "does not go with `way: outside level`",
           "take it out", TO_WASTE),
    levels("volume without basins", "  - {way: stored volume, volume: 5 m3}", "5 m3", "levels: 0",
           "`in` is missing", "add `in: ...`", TO_WASTE),
    levels("unknown way", "  - {way: weir, at: sump}", "way: weir", "levels: 0: way",
           "not one of the choices", "outside level", TO_WASTE),
    levels("levels without list", "  way: kept level", "levels:", "levels", "a list is due",
           "`- way: ...`", TO_WASTE),
    levels("uphill by gravity", "  - {way: outside level, at: filter box, level: 0.3 m}\n"
           "  - {way: outside level, at: sump, level: 0.5 m}", "  drain:", "elements: drain",
           "from 'filter box' (0.300 m) through drain to 'sump' (0.500 m)", "put a lift",
           TO_WASTE),
]  # fmt: skip

UNSOLVED = [
    Case("curve too weak", ((PUMP, f"kind: lift\n    curve: {WEAK}"),), "", "pump",
         "its curve ends at 0.500 m at no flow", "m are asked for", 4),
    levels("outside levels that disagree", "  - {way: outside level, at: filter box, level: 0.9 m}"
           "\n  - {way: outside level, at: sump, level: 0.5 m}", "", "filter box",
           "'pump' 120.00 m3/h", "the given levels and flows disagree", TO_WASTE, code=4),
    levels("stated exchange that disagrees", "  - {way: outside level, at: sump, level: 0.5 m, "
           "exchange: 4 m3/h}", "", "sump", "4.00 m3/h follow", "disagree", TO_WASTE, code=4),
    levels("stored volume that grows", "  - {way: stored volume, in: [sump], volume: 5 m3}", "",
           "sump", "'well' 1.20 m3/h", "disagree",
           (SPILLWAY, "kind: discharge\n    flow: 0.7 m3/h"), code=4),
    Case("drain too narrow", (("diameter: 230 mm", "diameter: 0.01 mm"),), "", "", "does not close",
         "look", 4),
]  # fmt: skip
