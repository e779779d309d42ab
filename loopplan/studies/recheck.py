"""Each row of the budget once more: scalar laws that share nothing with the solver's.

For a passage, its flow and the head below it, :func:`again` returns the head above it and
how the loss splits. Plain floats and `math` only; friction is solved from the implicit
equation, inverse laws by bisection.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from loopplan.physics.constants import GRAVITY
from loopplan.physics.profile_check import scalar_upstream
from loopplan.studies.recheck_airlift import margin

_TWO_G = 2.0 * GRAVITY


@dataclass(frozen=True)
class Again:
    """Head above a passage [m], and its loss split [m]; `velocity` [m/s] or None."""

    head_up: float
    friction: float = 0.0
    local: float = 0.0
    fall: float = 0.0
    device: float = 0.0
    velocity: float | None = None
    velocity_up: float | None = None
    velocity_down: float | None = None
    extra: Mapping[str, float] | None = None


_STILL = 1e-9
"""Flow [m3/s] under which a sill is dry."""

_SHUT = 1e-7
"""Speed [m/s] under which a flap is shut: less than a nanometre of head would open it so far."""

Twin = Callable[[Mapping[str, Any], float, float], Again]


def again(
    law: str, p: Mapping[str, Any], flow: float, head_down: float, head_up: float | None = None
) -> Again:
    """Work one passage again from the flow of one unit [m3/s] and the head below it [m].

    `law` and `p` are the name and parameters of its law; `head_up` [m], the head solved above
    it, is needed where water runs backward and the loss hangs on the levels. Raises KeyError
    for a law that has no scalar twin (given flows have none: their head is what is sought).
    """
    edge = p.get("crest", p.get("invert"))
    if (
        edge is not None
        and head_up is not None
        and abs(flow) <= _STILL
        and max(head_up, head_down) <= edge
    ):
        # A dry sill says nothing of the levels on its sides.
        return Again(head_up, fall=head_up - head_down)
    if law == "one-way" and head_up is not None and abs(flow) <= _SHUT * p["diameter"] ** 2:
        # Shut, it bears any head that does not open it, and none that makes it leak.
        most = head_down + p["opening_head"]
        held = min(max(head_up, head_down), most) if p["leak"] > 0.0 else min(head_up, most)
        return Again(held, local=held - head_down)
    if flow < 0.0 and law in _MIRRORED:
        assert head_up is not None
        return _backward(_TWINS[law], p, -flow, head_down, head_up)
    return _TWINS[law](p, flow, head_down)


def _backward(twin: Twin, p: Mapping[str, Any], flow: float, below: float, above: float) -> Again:
    """Work a passage that runs backward as its own mirror image.

    A free sill hands nothing on to its downstream side, so the march has to start there.
    """
    mirror = dict(p)
    if "floor_up" in p:
        mirror["floor_up"], mirror["floor_down"] = p["floor_down"], p["floor_up"]
        mirror["to_basin"] = 0.0
    seen = twin(mirror, flow, above)
    return Again(
        above - (seen.head_up - below),
        -seen.friction,
        -seen.local,
        -seen.fall,
        -seen.device,
        None if seen.velocity is None else -seen.velocity,
        seen.velocity_down,
        seen.velocity_up,
        seen.extra,
    )


def _friction_factor(reynolds: float, rough: float) -> float:
    """Darcy friction factor; the turbulent one by bisection of Colebrook's equation."""
    if reynolds <= 0.0:
        return 0.0
    laminar = 64.0 / reynolds
    if reynolds <= 2000.0:
        return laminar

    def miss(x: float) -> float:
        return x + 2.0 * math.log10(rough / 3.7 + 2.51 * x / reynolds)

    low, high = 1.0, 40.0
    for _ in range(80):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if miss(mid) < 0.0 else (low, mid)
    turbulent = 1.0 / (0.5 * (low + high)) ** 2
    if reynolds >= 4000.0:
        return turbulent
    return _blend(reynolds, laminar, turbulent)


def _blend(reynolds: float, laminar: float, turbulent: float) -> float:
    t = (reynolds - 2000.0) / 2000.0
    share = t * t * (3.0 - 2.0 * t)
    return (1.0 - share) * laminar + share * turbulent


def _pipe(p: Mapping[str, Any], flow: float, down: float) -> Again:
    area = math.pi / 4.0 * p["diameter"] ** 2
    speed = flow / area
    head = speed * abs(speed) / _TWO_G
    factor = p["factor"]
    if factor <= 0.0:
        reynolds = abs(speed) * p["diameter"] / p["viscosity"]
        factor = _friction_factor(reynolds, p["roughness"] / p["diameter"])
    friction = factor * p["length"] / p["diameter"] * head
    local = p["k"] * head
    return Again(
        down + friction + local,
        friction,
        local,
        velocity=speed,
        velocity_up=speed,
        velocity_down=speed,
    )


def _loss(p: Mapping[str, Any], flow: float, down: float) -> Again:
    size = abs(flow)
    head = p["c1"] * size + p["c2"] * size * size
    if p["cn"] > 0.0 and size > 0.0:
        head += p["cn"] * math.pow(size, p["n"])
    head = math.copysign(min(head, p["cap"]), flow)
    return Again(down + head, local=head)


def _curve(p: Mapping[str, Any], flow: float, down: float) -> Again:
    n = p["speed"]
    x = flow / n
    flows, heads, slopes = p["flows"], p["heads"], p["slopes"]
    if x <= flows[0]:
        gain = heads[0] + (x - flows[0]) * slopes[0]
    elif x >= flows[-1]:
        gain = heads[-1] + (x - flows[-1]) * slopes[-1]
    else:
        k = max(i for i in range(len(flows) - 1) if flows[i] <= x)
        d = flows[k + 1] - flows[k]
        t = (x - flows[k]) / d
        # Hermite basis, written out.
        gain = (
            (1 + 2 * t) * (1 - t) ** 2 * heads[k]
            + t * (1 - t) ** 2 * d * slopes[k]
            + t * t * (3 - 2 * t) * heads[k + 1]
            + t * t * (t - 1) * d * slopes[k + 1]
        )
    gain *= n * n
    if heads[0] + heads[-1] > 0.0:
        return Again(down - gain, device=-gain)
    return Again(down - gain, local=-gain)


def _airlift(p: Mapping[str, Any], flow: float, down: float) -> Again:
    """Level on the inlet side at which the air at hand balances this flow."""
    foot = p["floor"] + p["diffuser_height"] if "floor" in p else p["injection_level"]

    def miss(up: float) -> float:
        return margin(p, flow, up, down, _friction_factor)

    up = _bisect(miss, foot, down)
    return Again(up, device=up - down)


def _bisect(miss: Callable[[float], float], low: float, high: float) -> float:
    """Root of a rising function between two bounds; the upper one is moved out if need be."""
    span = max(high - low, 1e-6)
    while miss(high) < 0.0:
        high += span
        span *= 2.0
        if span > 1e6:
            raise ArithmeticError("no head carries this flow")
    for _ in range(200):
        mid = 0.5 * (low + high)
        if mid in (low, high):
            break
        low, high = (mid, high) if miss(mid) < 0.0 else (low, mid)
    return 0.5 * (low + high)


def _weir_flow(p: Mapping[str, Any], up: float, down: float) -> float:
    h1, h2 = up - p["crest"], down - p["crest"]
    if h1 <= 0.0:
        return 0.0
    # The head correction fades in over the first 10 mm.
    fade = 1.0 if h1 >= 0.010 else (h1 / 0.010) ** 2 * (3.0 - 2.0 * h1 / 0.010)
    flow = (p["c0"] + p["c1"] * h1) * math.pow(h1 + fade * p["kh"], p["exponent"])
    limit, m = p["modular_limit"], p["drown_exponent"]
    ratio = h2 / h1
    if ratio <= limit or ratio <= 0.0:
        return float(flow)

    def factor(x: float) -> float:
        return math.pow(1.0 - math.pow((x - limit) / (1.0 - limit), m), 0.385)

    if ratio <= 0.95:
        return float(flow * factor(ratio))
    return float(flow * factor(0.95) * (1.0 - ratio) / 0.05)


def _weir(p: Mapping[str, Any], flow: float, down: float) -> Again:
    floor = max(p["crest"], down)
    up = _bisect(lambda x: _weir_flow(p, x, down) - flow, floor, floor + 0.1)
    return Again(up, fall=up - down)


def _opening_flow(p: Mapping[str, Any], up: float, down: float) -> float:
    z1, z2, width, cd = p["invert"], p["soffit"], p["width"], p["cd"]
    if up <= z1:
        return 0.0
    low = min(max(down, z1), z2)
    free_top = min(up, z2)
    free = 0.0
    if free_top > low:
        free = math.pow(up - low, 1.5) - math.pow(up - free_top, 1.5)
    drowned = max(min(down, z2) - z1, 0.0)
    drop = up - max(down, z1)
    speed = math.sqrt(_TWO_G * drop) if drop > 1e-4 else math.sqrt(_TWO_G * 1e-4) * drop / 1e-4
    return float(cd * width * (2.0 / 3.0 * math.sqrt(_TWO_G) * free + drowned * speed))


def _opening(p: Mapping[str, Any], flow: float, down: float) -> Again:
    low = max(down, p["invert"])
    up = _bisect(lambda x: _opening_flow(p, x, down) - flow, low, low + 0.1)
    drowned = max(min(down, p["soffit"]) - p["invert"], 0.0)
    area = p["width"] * max(drowned, min(up, p["soffit"]) - p["invert"], 1e-9)
    fall = max(p["invert"] - down, 0.0)
    return Again(up, local=up - down - fall, fall=fall, velocity=flow / area)


def _strainer(p: Mapping[str, Any], flow: float, down: float) -> Again:
    def loss(level: float) -> float:
        depth = min(max(level - p["floor"], 0.02), p["height"])
        return float(p["k"] * (flow / (p["width"] * depth)) ** 2 / _TWO_G)

    up = _bisect(lambda x: x - down - loss(x), down, down + 0.1)
    depth = min(max(up - p["floor"], 0.02), p["height"])
    return Again(up, local=up - down, velocity=flow / (p["width"] * depth))


def _channel(p: Mapping[str, Any], flow: float, down: float) -> Again:
    floor_up, floor_down = p["floor_up"], p["floor_down"]
    shape = (p["width"], p["side_slope"], p["diameter"])
    spare = down - floor_down
    to_level = p["to_basin"] > 0.0
    low = _critical(flow, shape)
    if p["free_end"] > 0.0:
        depth = low
    elif p["thrust_down"] > 0.0:
        depth = _depth_of_thrust(flow, _first_moment(spare, shape), shape, low)
    elif to_level:
        depth = spare
    else:
        depth = _depth_of_energy(flow, spare, shape, low)
    chezy = p["chezy"]
    energy = scalar_upstream(
        flow,
        depth,
        *shape,
        p["length"],
        floor_up,
        floor_down,
        0.0 if chezy > 0.0 else p["manning"],
        chezy,
        p["k"],
    )
    depth_up = _depth_of_energy(flow, energy - floor_up, shape, low)
    head = energy - floor_up - depth_up
    entrance = p["entrance_k"] * head
    end = max(depth, low)
    speed_up = flow / _area(depth_up, shape) if flow else 0.0
    speed_down = flow / _area(end, shape) if flow else 0.0
    # What the end gives up: the velocity head into still water, or the drop of a brink.
    end_energy = floor_down + end + speed_down**2 / _TWO_G
    lost = end_energy - down
    critical = end <= low * (1.0 + 1e-9) + 1e-9 and flow > 0.0
    exit_loss = speed_down**2 / _TWO_G if to_level else 0.0
    fall = max(lost - exit_loss, 0.0) if critical else 0.0
    if p["thrust_up"] > 0.0:
        # Water that joins from the side has no speed along the channel: what the level
        # rises by is what sets it moving.
        thrust = flow**2 / GRAVITY / _area(depth_up, shape) + _first_moment(depth_up, shape)
        still = _root(lambda y: _first_moment(y, shape) - thrust, depth_up, 3.0 * depth_up)
        entrance = floor_up + still - energy
    return Again(
        energy + entrance,
        friction=energy - end_energy,
        local=entrance + lost - fall,
        fall=fall,
        velocity=min(speed_up, speed_down),
        velocity_up=speed_up,
        velocity_down=speed_down,
        extra={"critical": float(critical), "critical_depth": low, "fall": fall},
    )


Shape = tuple[float, float, float]


def _area(depth: float, shape: Shape) -> float:
    width, side, diameter = shape
    if diameter > 0.0:
        angle = 2.0 * math.acos(1.0 - 2.0 * min(max(depth / diameter, 1e-9), 1.0 - 1e-9))
        return diameter**2 / 8.0 * (angle - math.sin(angle))
    return max(depth, 1e-9) * (width + side * max(depth, 1e-9))


def _top(depth: float, shape: Shape) -> float:
    width, side, diameter = shape
    if diameter > 0.0:
        x = min(max(depth, 1e-9), diameter * (1.0 - 1e-9))
        return 2.0 * math.sqrt(x * (diameter - x))
    return width + 2.0 * side * depth


def _first_moment(depth: float, shape: Shape) -> float:
    """First moment of the wetted area about the surface [m3], by Simpson's rule in depth."""
    if depth <= 0.0:
        return 0.0
    if shape[2] <= 0.0:
        return depth**2 * (shape[0] / 2.0 + shape[1] * depth / 3.0)
    # The first moment is the area summed over depth; substituted so that both ends are smooth.
    count = 400
    total = 0.0
    for i in range(count + 1):
        t = i / count
        y = depth * t * t * (3.0 - 2.0 * t)
        weight = 1.0 if i in (0, count) else 4.0 if i % 2 else 2.0
        total += weight * (_area(y, shape) if y > 0.0 else 0.0) * 6.0 * t * (1.0 - t) * depth
    return total / (3.0 * count)


def _depth_of_thrust(flow: float, thrust: float, shape: Shape, low: float) -> float:
    def miss(y: float) -> float:
        return flow**2 / GRAVITY / _area(y, shape) + _first_moment(y, shape) - thrust

    if flow > 0.0 and miss(low) >= 0.0:
        return low
    high = max(low, 1e-6)
    while miss(high) < 0.0:
        high *= 1.5
    return _root(miss, max(low, 1e-9), high)


def _critical(flow: float, shape: Shape) -> float:
    if flow <= 0.0:
        return 0.0
    high = shape[2] * 0.95 if shape[2] > 0.0 else 100.0
    return _root(lambda y: GRAVITY * _area(y, shape) ** 3 - flow**2 * _top(y, shape), 1e-9, high)


def _depth_of_energy(flow: float, energy: float, shape: Shape, low: float) -> float:
    least = low + (flow / _area(low, shape)) ** 2 / _TWO_G if flow > 0.0 else 0.0
    if energy <= least:
        return low
    return _root(
        lambda y: y + (flow / _area(y, shape)) ** 2 / _TWO_G - energy, max(low, 1e-9), energy
    )


def _root(miss: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(200):
        mid = 0.5 * (low + high)
        if mid in (low, high):
            break
        low, high = (mid, high) if miss(mid) < 0.0 else (low, mid)
    return 0.5 * (low + high)


def _tap(p: Mapping[str, Any], flow: float, down: float) -> Again:
    area = _area(down - p["floor"], (p["width"], p["side_slope"], p["diameter"]))
    dip = (p["main"] / area) ** 2 / _TWO_G
    return Again(down + dip, local=dip, velocity_up=abs(p["main"]) / area)


def _header(p: Mapping[str, Any], flow: float, down: float) -> Again:
    run = _pipe(p, flow, down)
    area = math.pi / 4.0 * p["diameter"] ** 2
    speed, main = flow / area, p["main"] / area
    parting = p["parting"] * (speed - main) * abs(speed - main)
    meeting = p["meeting"] * (speed * abs(speed) - main * abs(main))
    tee = (parting + meeting) / _TWO_G
    return replace(run, head_up=run.head_up + tee, local=run.local + tee)


def _tee(p: Mapping[str, Any], flow: float, down: float) -> Again:
    speed = p["main"] / (math.pi / 4.0 * p["bore"] ** 2)
    passing = p["side"] * speed**2 / _TWO_G
    local = passing + p["c2"] * flow * abs(flow)
    # The printed level is that in the header, where the main flow runs.
    leaves = p["side"] > 0.0
    return Again(
        down + local,
        local=local,
        velocity_up=abs(speed) if leaves else None,
        velocity_down=None if leaves else abs(speed),
    )


def _plate(p: Mapping[str, Any], flow: float, down: float) -> Again:
    jet = math.copysign(p["c2"] * flow * flow, flow)
    fall = max(p["plate"] - down, 0.0)
    return Again(down + fall + jet, local=jet, fall=fall)


def _drum(p: Mapping[str, Any], flow: float, down: float) -> Again:
    size = abs(flow)
    head = p["cn"] * math.pow(size, p["n"])
    if head < p["trigger"]:
        washed = 1.0 if size >= p["small"] else size / p["small"]
        head = max(head, p["trigger"] * washed)
    head = math.copysign(head, flow)
    return Again(down + head, local=head)


def _one_way(p: Mapping[str, Any], flow: float, down: float) -> Again:
    area = math.pi / 4.0 * p["diameter"] ** 2
    speed = flow / area
    if flow < 0.0:
        drop = -_square_or_straight(p["k"] * (speed / p["leak"]) ** 2 / _TWO_G)
    else:
        drop = p["opening_head"] + _square_or_straight(p["k"] * speed**2 / _TWO_G)
    return Again(down + drop, local=drop, velocity=speed, velocity_up=speed, velocity_down=speed)


def _square_or_straight(head: float) -> float:
    """Head [m] of a square law; below 0.1 mm that of the straight line which meets it there."""
    return head if head >= 1e-4 else math.sqrt(1e-4 * head)


_TWINS: Mapping[str, Twin] = {
    "pipe": _pipe,
    "loss": _loss,
    "curve": _curve,
    "weir": _weir,
    "opening": _opening,
    "strainer": _strainer,
    "tap": _tap,
    "header": _header,
    "tee": _tee,
    "channel": _channel,
    "plate": _plate,
    "drum": _drum,
    "one-way": _one_way,
    "airlift shaft": _airlift,
    "airlift tube": _airlift,
}
_MIRRORED = ("weir", "opening", "strainer", "channel")
