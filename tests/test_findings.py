"""Findings: declared kinds only, whole texts, worst first."""

from __future__ import annotations

import math
import random

import pytest

from loopplan.findings import (
    FINDING_KINDS,
    Severity,
    declare_finding,
    find,
    worst,
    worst_first,
)


def test_finding_takes_what_is_left_out_from_its_kind() -> None:
    finding = find("velocity-low", "drain", value=0.12, limit=0.3, unit="m/s")
    kind = FINDING_KINDS["velocity-low"]
    assert (finding.severity, finding.cure, finding.source) == (
        kind.severity,
        kind.cure,
        kind.source,
    )
    assert finding.message == f"{kind.title}: 0.12 m/s, limit 0.3 m/s"
    assert find("velocity-low", "drain").message == kind.title


def test_place_may_judge_severity_and_words_anew() -> None:
    finding = find(
        "airlift-lift-limit",
        "lift",
        severity=Severity.NOTE,
        message="m",
        cure="c",
        source="s",
        state="cold",
    )
    assert finding.severity is Severity.NOTE
    assert (finding.message, finding.cure, finding.source, finding.state) == ("m", "c", "s", "cold")


def test_undeclared_code_is_our_error() -> None:
    with pytest.raises(KeyError, match="no finding 'velocity-odd'"):
        find("velocity-odd", "drain")


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_findings_never_hold_what_is_no_number(number: float) -> None:
    with pytest.raises(ValueError, match="for a number"):
        find("velocity-low", "drain", value=number)
    with pytest.raises(ValueError, match="for a number"):
        find("velocity-low", "drain", limit=number)


TEXTS = {"cause": "c", "effect": "e", "cure": "c", "source": "s"}


@pytest.mark.parametrize("code", ["V012", "velocity low", "Velocity-low", "", "low-2", "-low"])
def test_codes_are_plain_words(code: str) -> None:
    with pytest.raises(ValueError, match="plain words"):
        declare_finding(code, "t", Severity.NOTE, **TEXTS)
    assert code not in FINDING_KINDS


def test_code_is_declared_once_and_with_all_its_texts(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ValueError, match="already"):
        declare_finding("velocity-low", "t", Severity.NOTE, **TEXTS)
    with pytest.raises(ValueError, match="lacks effect"):
        declare_finding("brand-new", "t", Severity.NOTE, **{**TEXTS, "effect": " "})
    assert "brand-new" not in FINDING_KINDS
    monkeypatch.setattr("loopplan.findings.model.FINDING_KINDS", {})
    declared = declare_finding("brand-new", "t", Severity.NOTE, **TEXTS)
    assert find("brand-new", "x").message == declared.title


def test_worst_come_first_in_any_order_given() -> None:
    expected = [
        find("basin-dry", "sump"),
        find("level-above-wall", "tank", state="clean"),
        find("level-above-wall", "tank", state="fouled"),
        find("velocity-low", "drain", message="m", value=0.1),
        find("velocity-low", "drain", message="m", value=0.2),
        find("head-wasted", "degasser"),
    ]
    for seed in range(20):
        mixed = random.Random(seed).sample(expected, len(expected))
        assert worst_first(mixed) == expected


def test_worst_of_all() -> None:
    notes = [find("head-wasted", "a"), find("velocity-low", "b")]
    assert worst(notes) is Severity.WARNING
    assert worst([]) is None
    assert Severity.SEVERE.at_least(Severity.WARNING)
    assert Severity.WARNING.at_least(Severity.WARNING)
    assert not Severity.NOTE.at_least(Severity.WARNING)


def test_plain_data_has_every_field() -> None:
    finding = find("weir-drowned", "sill", value=0.1, unit="m")
    data = finding.as_dict()
    assert data["severity"] == "warning"
    assert list(data) == list(vars(finding))


@pytest.mark.parametrize("code", sorted(FINDING_KINDS))
def test_kind_says_one_or_two_sentences_each(code: str) -> None:
    kind = FINDING_KINDS[code]
    assert kind.code == code
    for text in (kind.cause, kind.effect, kind.cure):
        assert text.endswith(".")
        assert text.count(". ") <= 1
        assert 30 <= len(text) <= 260
