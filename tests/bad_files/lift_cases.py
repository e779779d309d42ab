"""Bad scenario files whose fault lies in a lift: its airlift, its pump, its curve."""

from __future__ import annotations

from tests.bad_files.cases import PUMP, Case, case

HALVES = "inlet half: 1 m2, outlet half: 1 m2"


def shaft(name: str, words: str, field: str, message: str, cure: str) -> Case:
    """Case of a shaft with a field that cannot stand."""
    drawn = f"    airlift: {{kind: channel shaft, {HALVES}, {words}}}"
    key = f"elements: pump: airlift: {field}"
    return case(name, PUMP, f"{PUMP}\n{drawn}", "airlift:", key, message, cure)


def tube(name: str, words: str, field: str, message: str, cure: str) -> Case:
    """Case of a tube with a field that cannot stand."""
    drawn = f"    airlift: {{kind: tube, bore: 150 mm, {words}}}"
    key = f"elements: pump: airlift: {field}"
    return case(name, PUMP, f"{PUMP}\n{drawn}", "airlift:", key, message, cure)


def pump(name: str, kind: str, words: str, field: str, message: str, cure: str) -> Case:
    """Case of a pump with a field that cannot stand."""
    key = f"elements: pump: {kind}: {field}"
    return case(name, PUMP, f"{PUMP}\n    {kind}: {{{words}}}", f"{kind}:", key, message, cure)


RISING = "[[0 m3/h, 1.0 m], [60 m3/h, 1.2 m], [150 m3/h, 0.5 m]]"
CROSSED = "[[0 m3/h, 1.2 m], [90 m3/h, 1.0 m], [60 m3/h, 0.8 m]]"

LIFTS = [
    shaft("diffusers deeper than the shaft", "diffuser height: -0.2 m", "diffuser height",
          "is negative; a length is zero or more", "leave out the '-'"),
    shaft("diffusers above the water", "diffuser height: 3.2 m", "diffuser height",
          "3 m of water stand in the shaft", "lay the diffusers deeper"),
    shaft("partition to the floor", "partition gap: 0 m", "partition gap",
          "out of range: must be above 0 m", "above 0 m"),
    shaft("partition above the water", "partition gap: 3.1 m", "partition gap",
          "the partition ends above the water", "reach down to about 0.5 m"),
    shaft("more diffusers than plan", "coverage: 120 %", "coverage", "at most 100 %",
          "at most 100 %"),
    shaft("more reserve than depth", "depth: 2 m, dry reserve: 2.1 m", "dry reserve",
          "leaves no depth for water", "make the shaft deeper"),
    shaft("sill above the wall", "floor: -2.6 m, outlet sill: 1.0 m", "outlet sill",
          "stands 3.6 m above the floor of a shaft that is 3.5 m deep", "lower the sill"),
    shaft("sill below the diffusers", "floor: -2.6 m, outlet sill: -2.2 m", "outlet sill",
          "not above the diffusers (0.5 m)", "raise the sill"),
    shaft("no air", "air: 0 m3/h", "air", "out of range: must be above 0 m3/h", "above 0 m3/h"),
    tube("tube below its injection",
         "injection depth: 2 m, injection level: -1.5 m, outlet level: -1.6 m", "outlet level",
         "ends below the place where air is let in", "levels above the farm datum"),
    tube("no tube", "injection depth: 2 m, tubes: 0", "tubes", "not a whole number from 1 up",
         "plain digits"),
    case("air without a floor", PUMP, "kind: lift\n    device: airlift\n    airlift: {kind: "
         f"channel shaft, {HALVES}, air: 60 m3/h}}", "airlift: {", "elements: pump: airlift: floor",
         "needs the level of its floor", "add `floor: ...`"),
    case("air without an injection level", PUMP, "kind: lift\n    device: airlift\n    airlift: "
         "{kind: tube, bore: 150 mm, injection depth: 1 m, air: 60 m3/h}", "airlift: {",
         "elements: pump: airlift: injection level", "needs the level at which air is let in",
         "add `injection level: ...`"),
    pump("centrifugal curve that rises", "centrifugal pump", f"curve: {RISING}", "curve",
         "two flows for one head", "leave out the part left of the highest head"),
    pump("curve that crosses itself", "centrifugal pump", f"curve: {CROSSED}", "curve",
         "the flows of the points must rise", "sort them"),
    pump("pump curve of one point", "propeller pump", "curve: [[60 m3/h, 1 m]]", "curve",
         "a curve needs two points or more", "add points"),
    pump("efficiency over the whole", "propeller pump",
         "efficiency: [[60 m3/h, 60 %], [120 m3/h, 120 %]]", "efficiency",
         "lies between 0 and 100 %", "check the readings"),
    pump("wire to water over the whole", "propeller pump", "wire to water: 110 %",
         "wire to water", "at most 100 %", "at most 100 %"),
    pump("flange without a column", "propeller pump", "measured at: flange", "measured at",
         "only be added for a known column", "add `column: 350 mm`"),
    pump("negative standby", "centrifugal pump", "standby: -1", "standby",
         "must be at least 0", "at least 0"),
    pump("unknown motor class", "propeller pump", "motor: {efficiency class: IE9}",
         "motor: efficiency class", "not one of the choices", "IE3 or IE4"),
]  # fmt: skip
