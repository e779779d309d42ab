"""Single passages solved twice: by the package, and by the referee with laws of its own.

All loops are invented. Heads must agree to 1e-6 m (channels 0.1 mm), flows to 1e-6.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.referee import laws as ref
from tests.referee.loops import CHANNEL_HEAD, Q, boxes_of, gravity_run, pipe, run


@pytest.mark.parametrize("form", ["sharp", "coefficient", "broad"])
def test_drowned_weir(form: str) -> None:
    free, limit, more = {
        "sharp": (ref.sharp(1.0, 0.5), 0.0, ""),
        "coefficient": (ref.by_coefficient(1.0, 0.6), 0.0, ", discharge coefficient: 0.6"),
        "broad": (ref.broad(1.0), 0.75, ""),
    }[form]
    run_pipe = pipe(20.0, 0.25, 1.0)
    # The crest stands in the water behind it, that of a broad sill beyond its modular limit.
    crest = run_pipe(Q, 0.0) - (0.12 if limit else 0.07)
    sill = f"kind: weir, form: {form}, crest: {crest!r} m, width: 1 m{more}"
    chain = [ref.sill(crest, free, limit), run_pipe]
    levels = boxes_of(chain, Q, 0.0)
    assert levels["box 0"] > crest + free_head(free) + 0.005
    elements = {"sill": sill, "run": run(20.0, 0.25, 1.0)}
    gravity_run("sill, run", elements, f"flow: {Q} m3/s", 0.0).agrees(levels, {"sill": Q})


def free_head(free: Callable[[float], float]) -> float:
    return ref.halve(lambda h: free(h) - Q, 0.01, 2.0)


@pytest.mark.parametrize("tail", [-0.5, 0.10, 0.6], ids=["free", "half drowned", "drowned"])
def test_opening(tail: float) -> None:
    gate = ref.opening(0.0, 0.25, 0.3, 0.62)
    elements = {"gate": "kind: opening, invert: 0 m, height: 250 mm, width: 0.3 m"}
    gravity_run("gate", elements, f"flow: {Q} m3/s", tail).agrees(
        {"box 0": gate(Q, tail)}, {"gate": Q}
    )


@pytest.mark.parametrize("tail", [-0.5, 0.15])
def test_v_notch(tail: float) -> None:
    notch = ref.sill(0.0, ref.notch_90(), 0.0, 2.5)
    elements = {"notch": "kind: weir, form: V-notch, angle: 90 deg, crest: 0 m"}
    gravity_run("notch", elements, f"flow: {Q} m3/s", tail).agrees(
        {"box 0": notch(Q, tail)}, {"notch": Q}
    )


@settings(max_examples=10)
@given(free=st.floats(0.15, 0.8), width=st.floats(0.4, 2.0), depth=st.floats(0.25, 1.0))
def test_screen(free: float, width: float, depth: float) -> None:
    plate = ref.screen(width, -depth, free)
    share = f"{100.0 * free!r} %"
    elements = {
        "screen": f"kind: screen, width: {width!r} m, floor: {-depth!r} m, free area: {share}"
    }
    gravity_run("screen", elements, f"flow: {Q} m3/s", 0.0).agrees(
        {"box 0": plate(Q, 0.0)}, {"screen": Q}
    )


@pytest.mark.parametrize(
    ("fall", "depth"),
    [(0.0, 0.35), (0.04, 0.35), (0.0, 0.15), (-0.03, 0.4), (0.0, -0.5), (0.02, -0.5)],
    ids=["level", "falling", "near critical", "rising", "brink", "brink on a fall"],
)
def test_channel(fall: float, depth: float) -> None:
    fields = (
        f"kind: channel, length: 40 m, width: 0.5 m, floor up: {fall} m, floor down: 0 m, "
        "manning: 0.013, entrance k: 0.5"
    )
    canal = ref.channel(40.0, 0.5, fall, 0.0, 0.013, 0.5)
    found = gravity_run("canal", {"canal": fields}, f"flow: {Q} m3/s", depth)
    found.agrees({"box 0": canal(Q, depth)}, {"canal": Q}, CHANNEL_HEAD)


def test_like_pipes_share_evenly() -> None:
    three = pipe(20.0, 0.12, 1.5, units=3)
    elements = {"run": run(20.0, 0.12, 1.5) + ", count: 3"}
    gravity_run("run", elements, f"flow: {Q} m3/s", 0.0).agrees(
        {"box 0": three(Q, 0.0)}, {"run": Q}
    )
