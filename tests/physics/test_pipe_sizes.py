"""Pipes by name: walls against the tables of the standards, bores, and what is refused."""

from __future__ import annotations

import pytest

from loopplan.physics.pipe_sizes import UnknownSize, pipe_size, plastic_wall

# Published: least walls [mm] of ISO 4427-2 / EN 12201-2 (PE) and ISO 1452-2 (PVC-U), from memory.
TABLE = [
    ("PE 63 SDR 11", 5.8), ("PE 110 SDR 11", 10.0), ("PE 160 SDR 11", 14.6),
    ("PE 200 SDR 11", 18.2), ("PE 250 SDR 11", 22.7), ("PE 315 SDR 11", 28.6),
    ("PE 355 SDR 11", 32.2), ("PE 400 SDR 11", 36.3),
    ("PE 90 SDR 17", 5.4), ("PE 110 SDR 17", 6.6), ("PE 160 SDR 17", 9.5),
    ("PE 200 SDR 17", 11.9), ("PE 225 SDR 17", 13.4), ("PE 250 SDR 17", 14.8),
    ("PE 315 SDR 17", 18.7), ("PE 355 SDR 17", 21.1), ("PE 400 SDR 17", 23.7),
    ("PE 630 SDR 17", 37.4), ("PE 110 SDR 26", 4.2), ("PE 200 SDR 26", 7.7),
    ("PE 315 SDR 26", 12.1), ("PE 400 SDR 26", 15.3), ("PE 20 SDR 11", 2.0),
    ("PVC-U 110 SDR 26", 4.2), ("PVC-U 110 SDR 17", 6.6), ("PVC-U 160 SDR 26", 6.2),
    ("PVC-U 63 SDR 21", 3.0), ("PVC-U 250 SDR 34.4", 7.3), ("PVC-U 250 SDR 21", 11.9),
]  # fmt: skip


@pytest.mark.parametrize(("name", "wall"), TABLE)
def test_wall_is_that_of_the_table(name: str, wall: float) -> None:
    found = pipe_size(name)
    assert found.wall == pytest.approx(wall / 1000.0, abs=1e-9)
    # Closed form: outside less two walls.
    outside = float(name.split()[1]) / 1000.0
    assert found.outside == outside
    assert found.bore == pytest.approx(outside - 2.0 * wall / 1000.0, abs=1e-9)
    assert f"{1000.0 * found.bore:.1f} mm" in found.words


def test_plain_division_would_be_too_thin() -> None:
    assert plastic_wall(110.0, "17") > 110.0 / 17.0 + 0.1


def test_steel_and_grp() -> None:
    # Closed form: 323.9 - 2 x 7.1.
    assert pipe_size("steel 323.9 x 7.1").bore == pytest.approx(0.3097)
    assert pipe_size("GRP 500").bore == pipe_size("GRP DN 500").bore == 0.5


def test_names_are_read_as_they_are_written() -> None:
    same = {pipe_size(n).bore for n in ("PE 355 SDR 17", "PE100 355 SDR17", "pe 100 355 sdr 17")}
    assert len(same) == 1
    assert pipe_size("PVC-U 160 PN 10").wall == pipe_size("PVC 160 SDR 26").wall
    assert pipe_size("PVC-U 63 PN 10").wall == pipe_size("PVC-U 63 SDR 21").wall
    assert "older" in pipe_size("PVC-U 160 PN 10").words


@pytest.mark.parametrize(
    ("name", "cure"),
    [
        ("PE 350 SDR 17", "355 mm"),
        ("PE 355 SDR 18", "SDR 17.6"),
        ("PE 355", "PE 355 SDR"),
        ("PE 110 PN 10", "PE 110 SDR"),
        ("PVC-U 255 SDR 26", "250 mm"),
        ("PVC-U 250 PN 7", "known: 6, 8"),
        ("PE 20 SDR 41", "lower SDR"),
        ("steel 324 x 7.1", "323.9 mm"),
        ("steel 323.9 x 7", "7.1 mm"),
        ("steel 323.9", "steel 323.9 x"),
        ("steel 21.3 x 16", "check"),
        ("GRP 510", "500 mm"),
        ("GRP 500 SDR 17", "GRP 500"),
        ("stel 323.9 x 7.1", "did you mean `steel`"),
        ("355", "write for example"),
    ],
)
def test_what_is_not_made_is_refused_with_the_nearest(name: str, cure: str) -> None:
    with pytest.raises(UnknownSize) as caught:
        pipe_size(name)
    assert cure in caught.value.cure
