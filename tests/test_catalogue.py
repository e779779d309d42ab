"""Generated files: fresh, complete, and the same bytes every time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from loopplan._generate import __main__ as generate
from loopplan._generate.catalogue import catalogue, catalogue_text
from loopplan.declare import as_written, spec_of
from loopplan.elements import KINDS
from loopplan.findings import FINDING_KINDS
from loopplan.limits import Limits
from loopplan.sources import SOURCES
from loopplan.units import allowed_units, read_quantity


def test_no_generated_file_is_stale() -> None:
    assert generate.stale() == [], "run `python -m loopplan._generate`"


def test_bytes_repeat() -> None:
    assert generate.generated() == generate.generated()


def test_check_names_what_is_stale_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert generate.main(["--check"], tmp_path) == 1
    assert "stale: loopplan/catalogue.json" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_writing_makes_it_fresh(tmp_path: Path) -> None:
    assert generate.main([], tmp_path) == 0
    assert generate.main(["--check"], tmp_path) == 0
    file = tmp_path / "docs" / "reference" / "elements.md"
    file.write_text(file.read_text(encoding="utf-8") + "x", encoding="utf-8")
    assert generate.stale(tmp_path) == ["docs/reference/elements.md"]


def test_wrong_words() -> None:
    assert generate.main(["--chek"]) == 2


def test_every_declaration_is_in_the_catalogue() -> None:
    known = json.loads(catalogue_text())
    assert list(known["kinds"]) == list(KINDS)
    assert set(known["findings"]) == set(FINDING_KINDS)
    assert set(known["sources"]) == set(SOURCES)
    limits = [field["name"] for field in known["sections"]["limits"]["fields"]]
    assert limits == [as_written(name) for name in Limits.model_fields]


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_of_a_kind_is_told(kind: str) -> None:
    cls = KINDS[kind]
    told = {field["name"]: field for field in catalogue()["kinds"][kind]["fields"]}
    written = {as_written(n): i for n, i in cls.model_fields.items() if n != "kind"}
    assert told.keys() == written.keys()
    for name, info in written.items():
        spec = spec_of(info)
        assert spec is not None
        assert told[name]["required"] == info.is_required()
        assert told[name]["meaning"].endswith((".", "]."))
        if spec.dimension not in ("word", "part"):
            assert told[name]["units"] == list(allowed_units(spec.dimension))


def test_a_default_that_is_shown_reads_as_the_default_that_is_used() -> None:
    checked = 0
    for kind, cls in KINDS.items():
        for field in catalogue()["kinds"][kind]["fields"]:
            used = {as_written(n): i for n, i in cls.model_fields.items()}[field["name"]].default
            if isinstance(used, float) and field["default"] is not None:
                assert read_quantity(field["default"], field["dimension"]).value == used
                assert field["source"], (kind, field["name"])
                checked += 1
    assert checked > 20


def test_each_source_says_how_well_it_is_known() -> None:
    for key, source in catalogue()["sources"].items():
        assert source["text"].strip(), key
        assert source["evidence"].strip(), key
