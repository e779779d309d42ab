"""The bore of a pipe, given in one of three ways."""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.declare import Element, quantity, word

_CURE = "give `diameter`, or `size`, or `outside diameter` and `wall`"


class BoreFields(Element):
    """Inside diameter: stated, by the pipe's name in the trade, or by outside diameter and wall."""

    diameter: float | None = quantity(
        "length",
        "Inside diameter; or give `size`, or `outside diameter` and `wall`.",
        unit="mm",
        default=None,
        above=0.0,
    )
    size: str | None = word(
        "Name in the trade that tells the bore: `PE 355 SDR 17`, `PVC-U 250 SDR 34.4`, "
        "`GRP 500`, `steel 323.9 x 7.1`.",
        default=None,
    )
    outside_diameter: float | None = quantity(
        "length", "Outside diameter of the pipe.", unit="mm", default=None, above=0.0
    )
    wall: float | None = quantity(
        "length", "Wall of the pipe, with the outside diameter.", unit="mm", default=None, above=0.0
    )

    @property
    def bore(self) -> float:
        """Inside diameter [m].

        Raises ValueError where none or more than one is given; such a file is refused.
        """
        if self.diameter is not None:
            return self.diameter
        if self.size is not None:
            from loopplan.physics.pipe_sizes import pipe_size

            return pipe_size(self.size).bore
        if self.outside_diameter is None or self.wall is None:
            raise ValueError("the bore of the pipe is not told")
        return self.outside_diameter - 2.0 * self.wall

    def bore_words(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Return a note on how the bore was had, and its sources; none where it is stated."""
        if self.size is not None:
            from loopplan.physics.pipe_sizes import pipe_size

            found = pipe_size(self.size)
            return (found.words,), (found.source,)
        if self.outside_diameter is not None and self.wall is not None:
            words = (
                f"{1000.0 * self.outside_diameter:g} mm outside, wall {1000.0 * self.wall:g} mm, "
                f"bore {1000.0 * self.bore:.1f} mm"
            )
            return (words,), ()
        return (), ()

    def assumed(self) -> Iterable[tuple[str, str, str]]:
        """The defaults in use, and the bore that a name was taken to mean."""
        yield from super().assumed()
        if self.size is not None:
            from loopplan.physics.pipe_sizes import UnknownSize, pipe_size
            from loopplan.sources import SOURCES

            try:
                found = pipe_size(self.size)
            except UnknownSize:
                return
            source = SOURCES[found.source]
            yield "size", found.words, f"{source.text}; {source.evidence}"

    def bore_refusals(self) -> Iterable[tuple[str, str, str]]:
        """No bore, more than one, one that is not made, or a wall that leaves none."""
        by_wall = self.outside_diameter is not None or self.wall is not None
        given = [
            name
            for name, is_given in (
                ("diameter", self.diameter is not None),
                ("size", self.size is not None),
                ("outside diameter", by_wall),
            )
            if is_given
        ]
        if not given:
            yield "diameter", "the bore of the pipe is missing", _CURE
        elif len(given) > 1:
            yield given[1], f"the bore is given twice: by `{'` and `'.join(given)}`", _CURE
        elif self.size is not None:
            from loopplan.physics.pipe_sizes import UnknownSize, pipe_size

            try:
                pipe_size(self.size)
            except UnknownSize as error:
                yield "size", str(error), error.cure
        elif by_wall:
            outside, wall = self.outside_diameter, self.wall
            if outside is None or wall is None:
                missing = "wall" if wall is None else "outside diameter"
                yield missing, f"`{missing}` is missing: both are needed to tell the bore", _CURE
            elif outside <= 2.0 * wall:
                yield "wall", "the wall leaves no bore", "check the outside diameter and the wall"
