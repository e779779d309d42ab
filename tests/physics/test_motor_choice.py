"""The standard motor for a shaft power, whatever its size."""

from __future__ import annotations

import pytest

from loopplan.physics.motor_choice import full_load_efficiency, mains_power, rated_output
from loopplan.physics.motors import motor_efficiency


def test_the_next_standard_output_and_what_lies_beyond_the_largest() -> None:
    # Published outputs (IEC 60072-1): 4 kW follows 3 kW, 5.5 kW follows 4 kW.
    assert rated_output(3.4e3, 1.15) == 4e3
    assert rated_output(3.6e3, 1.15) == 5.5e3
    # Closed form: none is that large, so what is needed is ordered.
    assert rated_output(5e6, 1.15) == pytest.approx(5.75e6, rel=1e-9)


def test_ends_of_the_table_hold_beyond_it() -> None:
    assert full_load_efficiency(1.0) == motor_efficiency(120.0)
    assert full_load_efficiency(9e6) == motor_efficiency(1e6)


def test_power_from_the_mains() -> None:
    # Closed form: at full load the nominal efficiency holds.
    assert mains_power(4e3, 4e3) == pytest.approx(4e3 / motor_efficiency(4e3), rel=1e-9)
    # An overload goes on in proportion from 1.5 of the rated output.
    assert mains_power(12e3, 4e3) == pytest.approx(2.0 * mains_power(6e3, 4e3), rel=1e-9)
    assert mains_power(0.0, 4e3) > 0.0
