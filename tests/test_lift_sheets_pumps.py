"""Pumps on lift sheets: what rules them out, and the speed, head and power that they take.

Expected values are closed forms or common practice; nothing here is a snapshot.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.lift_sheet_results import DeviceState, PumpPoint
from tests.lift_loop import CURVE, LOOP, PUMP, codes, device, lift, loss, sheet, study, water
from tests.referee.laws import G, curve, friction_factor

FLOW = 1000.0 / 3600.0
POINTS = [(0.0, 0.9), (600.0 / 3600.0, 0.7), (FLOW, 0.5), (1300.0 / 3600.0, 0.3)]
RISE = curve(POINTS)


def stated(words: str, kind: str = "propeller pump") -> tuple[str, str]:
    return lift(f"device: {kind}, {kind}: {{{words}}}")


def first(*changes: tuple[str, str], kind: str = "propeller pump") -> DeviceState:
    return device(kind, *changes).states[0]


def point(*changes: tuple[str, str], kind: str = "propeller pump") -> PumpPoint:
    detail = first(*changes, kind=kind).detail
    assert isinstance(detail, PumpPoint)
    return detail


def why_not(*changes: tuple[str, str], kind: str = "propeller pump") -> str:
    assert "device-cannot-serve" in codes(*changes)
    return "; ".join(first(*changes, kind=kind).against)


SADDLE = "[[0 m3/h, 1.4 m], [500 m3/h, 0.8 m], [1100 m3/h, 1.0 m], [1500 m3/h, 0.2 m]]"


def test_the_saddle_of_a_curve_is_barred() -> None:
    # At full speed the peak stands at 1,100 m3/h; more flow than that is right of it.
    barred = why_not(stated(f"curve: {SADDLE}"), loss(0.9))
    assert "in the saddle of its curve" in barred
    right = ("flow: 1000 m3/h}\nflow", "flow: 1300 m3/h}\nflow")
    more = (PUMP, PUMP.replace("1000", "1300").replace("}", ", device: propeller pump, "
            f"propeller pump: {{curve: {SADDLE}}}}}"))  # fmt: skip
    assert first(more, right, ("loss: 300 mm", "loss: 550 mm")).feasible


def test_beyond_the_end_of_its_curve() -> None:
    short = "[[0 m3/h, 1.2 m], [700 m3/h, 0.5 m]]"
    assert "is beyond the end of its curve" in why_not(stated(f"curve: {short}"))
    assert first(stated(f"curve: {CURVE}")).feasible


def test_no_speed_reaches_what_its_curve_at_full_speed_does_not() -> None:
    against = why_not(stated(f"curve: {CURVE}"), loss(0.6))
    assert "its curve at full speed stays below the 0.60 m" in against
    assert first(stated(f"curve: {CURVE}"), loss(0.5 - 1e-6)).feasible


def test_motor_too_small() -> None:
    shaft = point(stated("motor: {power: 10 kW}")).shaft / 1e3
    small = stated(f"motor: {{power: {0.95 * shaft:.4f} kW}}")
    assert "overload its motor" in why_not(small)
    assert first(stated(f"motor: {{power: {1.05 * shaft:.4f} kW}}")).feasible


def test_submergence_of_the_bell() -> None:
    # ANSI/HI 9.8: S = D (1 + 2.3 Fr).
    speed = FLOW / (math.pi / 4.0 * 0.45**2)
    needed = 0.45 * (1.0 + 2.3 * speed / math.sqrt(G * 0.45))
    for spare in (-0.01, 0.01):
        level = 1.0 - needed - spare
        words = f"bell: 450 mm, bell level: {level:.6f} m"
        found = first(stated(words))
        assert found.feasible is (spare > 0.0)
        detail = point(stated(words))
        assert detail.submergence is not None
        assert detail.submergence[0] == pytest.approx(needed, rel=1e-9)
        assert detail.submergence[1] == pytest.approx(needed + spare, abs=1e-5)
    assert "are needed against drawing air" in why_not(stated("bell: 450 mm, bell level: 0.5 m"))


HIGH = (
    (PUMP, "{kind: lift, flow: 100 m3/h, device: centrifugal pump, centrifugal pump: {%s}}"),
    ("flow: 1000 m3/h}\nflow", "flow: 100 m3/h}\nflow"),
    ("loss: 300 mm", "loss: 12 m"),
    ("head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}",
     "head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 15 m}"),
)  # fmt: skip


def centrifugal(words: str) -> tuple[tuple[str, str], ...]:
    (old, new), *rest = HIGH
    return ((old, new % words), *rest)


def test_net_positive_suction_head() -> None:
    w = water()
    # There: the atmosphere less vapour, less 4 m of suction lift and 1 m of loss.
    there = (w.atmosphere - w.vapour) / (w.density * G) - 4.0 - 1.0
    for required, feasible in ((there - 0.95, True), (there - 0.85, False)):
        words = f"suction level: 5 m, suction loss: 1 m, npsh: {required:.6f} m"
        found = first(*centrifugal(words), kind="centrifugal pump")
        assert found.feasible is feasible
        detail = found.detail
        assert isinstance(detail, PumpPoint) and detail.npsh is not None
        # ANSI/HI 9.6.1: at least 0.9 m more than is required.
        assert detail.npsh[0] == pytest.approx(max(required + 0.9, 1.1 * required), abs=1e-5)
        assert detail.npsh[1] == pytest.approx(there, rel=1e-3)
    assert "it would cavitate" in "; ".join(
        first(*centrifugal("suction level: 9 m, npsh: 3 m"), kind="centrifugal pump").against
    )


def test_no_motor_speed_fits_a_centrifugal_pump_at_low_head() -> None:
    # n_q = n sqrt(Q) / H^0.75: even 480 1/min are far above 100 at 0.5 m and 1,000 m3/h.
    head = 0.3 + 0.2
    assert 480.0 * math.sqrt(FLOW) / head**0.75 > 100.0
    assert "at no motor speed" in first(kind="centrifugal pump").against[0]
    assert first(*centrifugal("standby: 1"), kind="centrifugal pump").feasible


def test_a_stated_speed_that_fits_no_class_rules_a_pump_out_unless_it_exists() -> None:
    fast = why_not(stated("speed: 2900 rpm"))
    assert "at 2900 turns a minute its duty asks for a specific speed of" in fast
    assert "from 45 to 400" in fast
    assert first(stated("speed: 400 rpm")).feasible
    assert first(stated("speed: 2900 rpm, wire to water: 45 %")).feasible
    assert first(stated(f"speed: 2900 rpm, curve: {CURVE}")).feasible


def test_a_bell_far_too_small_is_told_and_does_not_end_the_study() -> None:
    assert "bell-velocity" in codes(stated("bell: 60 mm"))


def test_stages_bring_a_small_flow_at_high_head_into_range() -> None:
    found = first(*centrifugal("standby: 1"), kind="centrifugal pump").detail
    assert isinstance(found, PumpPoint)
    assert 12.0 <= found.specific_speed <= 100.0
    q, h = 100.0 / 3600.0, found.head
    assert found.specific_speed == pytest.approx(2900 * math.sqrt(q) / h**0.75, rel=1e-6) or (
        found.speed < 2900
    )


def test_speed_is_that_at_which_the_curve_meets_the_duty_not_the_cube_law() -> None:
    """Half the flow over static head: the speed follows from curve and system together."""
    static = (
        ("loss: 300 mm, flow: 1000 m3/h}", "points: [[0 m3/h, 250 mm], [1000 m3/h, 450 mm]]}"),
        ("{clean: {}}", "{clean: {}, half: {flow: 50 %}}"),
    )
    full, half = device("propeller pump", stated(f"curve: {CURVE}"), *static).states
    for state, flow in ((full, FLOW), (half, FLOW / 2.0)):
        detail = state.detail
        assert isinstance(detail, PumpPoint)
        # Affinity: at the share r of its speed the pump makes r^2 H(Q / r).
        share = brentq(lambda r, q=flow, s=state: r * r * RISE(q / r) - s.static, 0.3, 1.2)
        assert detail.share == pytest.approx(share, rel=1e-6)
    assert isinstance(half.detail, PumpPoint) and isinstance(full.detail, PumpPoint)
    cube = 0.5**3 * full.detail.shaft
    assert half.detail.shaft > 1.5 * cube
    assert half.detail.share > 0.5 * full.detail.share


def test_a_pump_on_its_curve_keeps_the_speed_of_each_state() -> None:
    by_curve = (
        (PUMP, f"{{kind: lift, device: propeller pump, curve: {CURVE}}}"),
        ("{clean: {}}", "{clean: {}, slow: {change: {pump: {speed: 80 %}}}}"),
    )
    usual, slow = device("propeller pump", *by_curve).states
    for state, share in ((usual, 1.0), (slow, 0.8)):
        detail = state.detail
        assert isinstance(detail, PumpPoint)
        assert detail.share == share
        # It stands on its own curve: head from level to level at the flow that was solved.
        assert state.static == pytest.approx(share**2 * RISE(state.flow / share), rel=1e-6)
        assert detail.head == pytest.approx(state.static, rel=1e-9)
        assert detail.ends == ()
    assert slow.flow < usual.flow
    assert slow.power and usual.power and slow.power.value < usual.power.value


def test_head_at_the_flange_is_counted_once_in_loop_and_sheet() -> None:
    words = "measured at: flange, column: 500 mm, column length: 3 m, bend: 0.3, flap loss: 0.4"
    by_device = (
        PUMP,
        f"{{kind: lift, device: propeller pump, propeller pump: {{curve: {CURVE}, {words}}}}}",
    )
    state = first(by_device)
    detail = point(by_device)
    v = state.flow / (math.pi / 4.0 * 0.5**2)
    f = friction_factor(v * 0.5 / water().viscosity, 1e-4 / 0.5)
    column = (0.05 + 0.3 + 0.4 + 1.0 + f * 3.0 / 0.5) * v * v / (2.0 * G)
    assert sum(head for _, head in detail.ends) == pytest.approx(column, rel=1e-6)
    assert detail.head == pytest.approx(RISE(state.flow), rel=1e-6)
    assert state.static == pytest.approx(RISE(state.flow) - column, rel=1e-6)


def test_a_drawn_column_counts_where_no_curve_is_stated() -> None:
    v = FLOW / (math.pi / 4.0 * 0.4**2)
    detail = point(stated("column: 400 mm, column length: 0 m, flap loss: 0, bend: 0, entry: 0"))
    ((name, head),) = detail.ends
    assert name == "outlet velocity"
    assert head == pytest.approx(v * v / (2.0 * G), rel=1e-9)


def test_wire_to_water_goes_before_a_curve_of_efficiency() -> None:
    both = stated("wire to water: 40 %, efficiency: [[500 m3/h, 60 %], [1000 m3/h, 70 %]]")
    state = first(both)
    assert state.power is not None
    used = water().density * G * FLOW * state.static / 0.40
    assert state.power.value == pytest.approx(used, rel=1e-6)
    detail = point(both)
    assert detail.rests_on == "stated wire to water"
    assert any("goes before its efficiency curve" in r.words for r in detail.remarks)


def test_stated_efficiency_is_read_off_its_curve() -> None:
    detail = point(stated(f"curve: {CURVE}, efficiency: [[500 m3/h, 60 %], [1000 m3/h, 70 %], "
                          "[1300 m3/h, 62 %]]"), loss(0.5 - 1e-9))  # fmt: skip
    assert detail.share == pytest.approx(1.0, abs=1e-6)
    assert detail.efficiency == pytest.approx(0.70, rel=1e-5)
    assert detail.shaft == pytest.approx(water().density * G * FLOW * 0.5 / 0.70, rel=1e-5)


def test_units_in_parallel_are_worked_one_by_one() -> None:
    two = (PUMP, PUMP.replace("flow: 1000 m3/h", "flow: 500 m3/h, count: 2"))
    state = first(two)
    detail = point(two)
    assert detail.flow == pytest.approx(FLOW / 2.0, rel=1e-9)
    assert state.flow == pytest.approx(FLOW, rel=1e-9)
    assert state.power is not None
    assert state.power.value == pytest.approx(2.0 * detail.shaft / detail.drive, rel=1e-9)
    assert "2 run and 1 stands by" in device("propeller pump", two).standby
    out = ("{clean: {}}", "{clean: {}, one out: {change: {pump: {count: 1}}}}")
    clean, one_out = device("propeller pump", two, out).states
    assert one_out.flow == pytest.approx(clean.flow / 2.0, rel=1e-9)


def test_standby_is_what_the_file_states() -> None:
    none = device("propeller pump", stated("standby: 0")).standby
    assert "1 runs and 0 stand by" in none and "until it is mended" in none


def test_sheet_and_budget_tell_one_head() -> None:
    text = LOOP.replace(PUMP, PUMP.replace("}", ", device: propeller pump}"))
    (state,) = budget(read(text, "loop.yaml")).lifts[0].states
    assert sheet(lift("device: propeller pump")).head == pytest.approx(state.head, rel=1e-12)
    assert study().sheets[0].flow == pytest.approx(state.flow, rel=1e-12)
