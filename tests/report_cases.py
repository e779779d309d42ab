"""A small budget result made by hand, for tests of the reports.

Invented numbers of a loop of one tank, one pipe, one filter, one fall and one lift. Heads are
chosen so that the sums can be done in one's head.
"""

from __future__ import annotations

from dataclasses import replace

from loopplan.findings import find, worst_first
from loopplan.studies.results import (
    BudgetResult,
    LevelRow,
    LiftResult,
    LiftState,
    Residuals,
    Row,
    SheetLine,
    StateResult,
)
from loopplan.studies.water_results import WaterBalance, WaterLoss

FLOW = 0.25  # m3/s, 900 m3/h


def row(element: str, kind: str, law: str, before: float, loss: float, **more: object) -> Row:
    blank = Row(
        "loop", element, "", kind, law, FLOW, 1.0, before, before - loss, before, before - loss,
        None, loss, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1e-13,
    )  # fmt: skip
    return replace(blank, **more)  # type: ignore[arg-type]


def rows(filter_loss: float) -> tuple[Row, ...]:
    lost = 0.1 + filter_loss + 0.25
    made = [
        row("tank", "raceway", "weir", 2.0, 0.0095, part="outlet", fall=0.0095, units=8.0),
        row("main pipe", "pipe", "pipe", 1.9905, 0.0905, friction=0.06, local=0.0305, velocity=1.2),
        row("filter", "loss", "loss", 1.9, filter_loss, local=filter_loss),
        row("degasser", "fall", "weir", 1.9 - filter_loss, 0.25, fall=0.25, useful=0.2),
        row("main lift", "lift", "given", 2.0 - lost, -lost, device=-lost),
    ]
    running, done = 0.0, []
    for item in made:
        running += item.loss
        done.append(replace(item, share=max(item.loss, 0.0) / lost, running=running))
    side = row("well", "make-up", "given", 1.5, 0.0, path="new water", flow=0.001)
    return (*done, side)


def state(name: str, filter_loss: float, freeboard: float) -> StateResult:
    return StateResult(
        name,
        "fouled" if name == "fouled" else "clean",
        15.0,
        rows(filter_loss),
        (
            LevelRow("tank", "raceway", 8.0, 0.0, 2.0, 2.0 + freeboard, freeboard, 2.0, 400.0,
                     800.0, 53.33),
            LevelRow("sump", "sump", 1.0, -0.5, 1.5, None, None, 2.0, 20.0, 40.0, None),
        ),
        WaterBalance(
            FLOW, 0.001, 0.001, 0.001, (("sump overflow", 0.001),),
            (WaterLoss("filter", "wash water", 0.0002, True),
             WaterLoss("sludge pump", "sludge", 0.0001, False)),
            840.0, 0.0009, 0.002, 0.0005,
        ),
        Residuals(2e-14, 3e-13, 0.0, 4e-13, 1e-13, 6),
    )  # fmt: skip


def lift_state(name: str, head: float) -> LiftState:
    return LiftState(name, FLOW, 2.0 - head, 2.0, head, 0.0, 0.0, head)


def result(device: str = "airlift") -> BudgetResult:
    """A budget of two duty states, clean and fouled."""
    findings = [
        find("velocity-low", "main pipe", state="clean", value=0.2, limit=0.3, unit="m/s"),
        find("level-above-wall", "tank", state="fouled", value=2.02, limit=2.0, unit="m"),
    ]
    others = [d for d in ("airlift", "propeller pump", "centrifugal pump") if d != device]
    lift = LiftResult(
        "main lift",
        "open",
        (lift_state("clean", 0.45), lift_state("fouled", 0.65)),
        0.45,
        0.65,
        device,
        "a reason for it",
        ((others[0], "a reason against one"), (others[1], "a reason against the other")),
    )
    sheet = SheetLine(
        "clean",
        "main pipe",
        "pipe",
        "h = (f L/D + sum K) v^2/2g",
        (("flow of one unit", FLOW, "m3/s"), ("K", 1.25, "-")),
        ("2 x bend 90: K 0.2",),
        ("colebrook",),
        0.0905,
        1.9905,
        1.9,
    )
    return BudgetResult(
        "Made-up farm",
        "An invented loop.",
        "made-up.yaml",
        (state("clean", 0.1, 0.25), state("fouled", 0.3, -0.02)),
        (lift,),
        tuple(worst_first(findings)),
        (("water", "salinity", "0 g/kg", "assumed: fresh water"),),
        (("colebrook", "Colebrook, C. F. (1939)"),),
        (sheet, replace(sheet, state="fouled")),
    )
