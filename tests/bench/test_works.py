"""The works and the baseline are what docs/performance.md says of them."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.loop.compile import compile_scenario
from loopplan.loop.structure import check_structure
from tests.bench.baseline import General
from tests.bench.net import LEVELS, LOOPS, net
from tests.bench.works import works


def test_works_hold_their_share_of_each_law() -> None:
    compiled = compile_scenario(works(1000))
    check_structure(compiled)
    laws = [branch.law for branch in compiled.graph.branches]
    assert 1000 <= compiled.system.nodes <= 1041
    assert laws.count("weir") >= 0.1 * len(laws)
    assert laws.count("channel") >= 0.1 * len(laws)
    assert laws.count("given") + laws.count("curve") >= 20


def test_works_come_out_the_same_twice() -> None:
    one, two = works(100), works(100)
    assert one.paths == two.paths
    assert one.elements == two.elements


def test_the_net_is_meshed_as_the_page_says() -> None:
    system = net()
    laws = {group.law: group.index.size for group in system.groups}
    assert system.nodes == LEVELS == 200
    assert laws["pipe"] - LEVELS + 1 == LOOPS == 171


def test_the_baseline_has_the_right_jacobian() -> None:
    general = General(compile_scenario(works(100)).system)
    q, h, found = general.solve()
    assert found
    x = np.concatenate([h[general.newton.columns, 0], q[:, 0]])
    way = np.random.default_rng(1).normal(size=x.size)
    step = 1e-7 * way
    slope = (general.residual(x + step) - general.residual(x - step)) / 2e-7
    assert general.jacobian(x) @ way == pytest.approx(slope, rel=1e-5, abs=1e-5)
