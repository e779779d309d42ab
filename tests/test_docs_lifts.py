"""The page about lift sheets: what it shows is what the command says, and its lifts are read."""

from __future__ import annotations

import re

import pytest

from loopplan.scenario.reader import read
from loopplan.shipped import scenario_path
from loopplan.studies.lift_sheets import lift_study
from tests.readme_blocks import ROOT, loopplan

PAGE = (ROOT / "docs" / "lifts.md").read_text(encoding="utf-8")
EXCERPTS = re.findall(r"<!-- excerpt: (.+?) -->\n```text\n(.*?)```", PAGE, re.DOTALL)
YAML = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize(("words", "shown"), EXCERPTS, ids=[words for words, _ in EXCERPTS])
def test_excerpt_is_real(words: str, shown: str) -> None:
    run = loopplan(*words.split())
    assert run.returncode == 0, run.stderr
    plain = "\n".join(line.rstrip() for line in run.stdout.splitlines())
    assert shown in plain + "\n"


def test_the_lifts_that_are_shown_are_read_and_worked() -> None:
    described, acting = YAML
    text = scenario_path("trout-channel").read_text(encoding="utf-8")
    # Its air stands under `air supply`, and here in the lift.
    text = re.sub(r"^air supply:\n(?:[ #].*\n|\n)*", "", text, flags=re.MULTILINE)
    start, end = text.index("  airlift:\n    kind: lift"), text.index("  shaft outlet:")
    told = described.replace("main lift", "airlift", 1)
    study = lift_study(read(text[:start] + told + text[end:], "described.yaml"))
    assert study.sheets[0].fixed == "airlift"
    # The flow follows from the air: the installed air and less of it.
    shaft = re.search(r"airlift: (\{kind: channel shaft.*?\})", acting, re.DOTALL)
    assert shaft is not None
    lift = f"  airlift: {{kind: lift, device: airlift, airlift: {shaft[1]}}}\n"
    states = acting.replace("main lift", "airlift").replace("clean: {}", "clean: {}\n  low: {}")
    full = lift.replace("700", "800")
    scenario = read(text[:start] + full + text[end:] + "\n" + states, "acting.yaml")
    assert getattr(scenario.elements["airlift"], "self_acting", False)
    first, _, slow = lift_study(scenario).sheets[0].devices[0].states
    assert 0.0 < slow.flow < first.flow


def test_links_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", PAGE):
        assert (ROOT / "docs" / target).exists(), target
