"""Findings about uneven shares, and which cure is cheaper in head."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopplan.findings import Finding, find
from loopplan.limits import Limits
from loopplan.loop.compile import Compiled
from loopplan.studies.cures import alike
from loopplan.studies.share_results import Cure, Cures, ShareSet


def judge_shares(
    compiled: Compiled, sets: Sequence[ShareSet], cures: Sequence[Cures]
) -> Iterable[Finding]:
    """Yield a finding for each set and state whose spread is beyond the limit."""
    limits = compiled.scenario.limits
    assert isinstance(limits, Limits)
    by_names = {found.elements: found for found in cures}
    for shares in sets:
        names = tuple(share.element for share in shares.shares)
        if shares.spread <= limits.share_spread or not alike(compiled, names):
            continue
        least = min(shares.shares, key=lambda share: share.flow)
        most = max(shares.shares, key=lambda share: share.flow)
        message = (
            f"{most.element} gets {most.flow * 3600:.1f} m3/h and {least.element} "
            f"{least.flow * 3600:.1f} m3/h, {_percent(shares.spread)} of the mean apart"
        )
        found = by_names.get(names)
        yield find(
            "shares-uneven",
            found.channel if found else names[0],
            state=shares.state,
            value=shares.spread,
            limit=limits.share_spread,
            message=message + (f". {cure_words(found)}" if found else ""),
        )


def cure_words(found: Cures) -> str:
    """Say what each cure takes, and which is the cheaper in head."""
    told = [_cure(cure, found.lift) for cure in (found.widen, found.throttle) if cure is not None]
    which = f"In state {found.state} {_percent(found.spread)} come down to {_percent(found.limit)}"
    if not told:
        return f"{which} neither by widening the channel nor by throttling the inlets"
    words = f"{which} by {', or by '.join(told)}"
    if found.widen is not None and found.throttle is not None:
        cheaper = "widening" if found.cheaper is found.widen else "throttling"
        # Of the numbers as they are told, so that they add up.
        saved = abs(round(1000.0 * found.widen.head) - round(1000.0 * found.throttle.head))
        words += f": {cheaper} is cheaper, by {saved} mm of head"
    return words


def _cure(cure: Cure, lift: str) -> str:
    """One cure with its size and its price."""
    moved = 1000.0 * cure.head
    price = f"{'saves' if moved < 0.0 else 'costs'} {abs(moved):.0f} mm of head at {lift}"
    more = cure.after - cure.before
    extra = f" ({more:.2f} m more to build)" if more > 0.0 else ""
    return f"{cure.what} from {cure.before:.2f} m to {cure.after:.2f} m{extra}, which {price}"


def _percent(value: float) -> str:
    return f"{100.0 * value:.1f} %"
