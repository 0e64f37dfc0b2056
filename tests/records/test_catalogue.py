"""Promise: a workshop's catalogue is read in its own units, all its mistakes told at once."""

from pathlib import Path

import pytest

from feedproof.core.errors import InputError, MissingError
from feedproof.records.catalogue import COLUMNS, GENERIC, generic_catalogue, read_catalogue

HEAD = ",".join(COLUMNS)
GOOD = f"""{HEAD}
our_fine,kind,element,,,,,,
our_fine,role,secondary,,,,,,
our_fine,head,head_large,,,,,,
our_fine,media_resistance,2.9e9,1/m,2.5e9,3.4e9,maker's data sheet,,
our_fine,face_area,4200,cm^2,,,maker's data sheet,,
our_fine,loading_scale,8.5,g,,,maker's data sheet,,
our_fine,ratio at 4 um(c),75,1,,,maker's data sheet,,
our_fine,ratio at 5 um(c),200,1,,,maker's data sheet,,
our_fine,cost,52,1,,,price list,,
"""


def written(folder: Path, text: str) -> Path:
    """Write a catalogue."""
    file = folder / "ours.csv"
    file.write_text(text, encoding="utf-8")
    return file


def faults_of(folder: Path, text: str) -> list[str]:
    """Read a bad catalogue and give what is said."""
    with pytest.raises(InputError) as caught:
        read_catalogue(written(folder, text))
    return [str(each) for each in caught.value.findings]


def test_the_packaged_catalogue_is_whole_and_labelled_as_invented() -> None:
    found = generic_catalogue()
    assert found.invented
    areas = {
        role: sorted(
            {each.element.face_area_m2 for each in found.filters if each.element.role == role}
        )
        for role in ("primary", "secondary")
    }
    assert len(areas["primary"]) == 3
    assert (areas["secondary"][0], areas["secondary"][-1]) == (0.12, 0.9)
    assert sorted(round(1e3 * each.bore_m) for each in found.hoses) == [8, 10, 12]
    for each in found.filters:
        assert (each.element.separator is not None) == (each.element.role == "primary")
        assert each.media_low_per_m < each.element.media_resistance_per_m < each.media_high_per_m
    rows = [line.split(",") for line in GENERIC.read_text("utf-8").splitlines()[2:]]
    assert all(row[6] in ("invented", "exact") for row in rows if row[3])


def test_a_workshops_element_stands_beside_the_generic_ones(tmp_path: Path) -> None:
    found = read_catalogue(written(tmp_path, GOOD))
    assert len(found.filters) == len(generic_catalogue().filters) + 1
    ours = next(each for each in found.filters if each.id == "our_fine")
    assert ours.element.face_area_m2 == pytest.approx(0.42)
    assert ours.element.loading_scale_kg == pytest.approx(8.5e-3)
    assert [point.ratio for point in ours.element.rating.points] == [75.0, 200.0]
    assert all(point.calibrated for point in ours.element.rating.points)
    assert ours.element.housing_inertial_per_m4 == pytest.approx(4.0e8)
    assert (ours.media_low_per_m, ours.media_high_per_m) == (2.5e9, 3.4e9)


def test_an_item_of_the_same_name_replaces_the_generic_one(tmp_path: Path) -> None:
    found = read_catalogue(written(tmp_path, GOOD.replace("our_fine", "finest_large")))
    assert len(found.filters) == len(generic_catalogue().filters)
    assert next(each for each in found.filters if each.id == "finest_large").element_cost == 52.0


def test_sizes_of_the_older_scale_are_kept_apart(tmp_path: Path) -> None:
    found = read_catalogue(written(tmp_path, GOOD.replace("um(c)", "um")))
    ours = next(each for each in found.filters if each.id == "our_fine")
    assert not any(point.calibrated for point in ours.element.rating.points)


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    bad = (
        GOOD.replace("4200,cm^2", "4200,")
        .replace("ratio at 4 um(c),75,1", "ratio at 4,75,1")
        .replace("ratio at 5 um(c),200,1", "ratio at 5 um(c),0.5,1")
        .replace("loading_scale", "loading_scala")
        .replace("2.9e9,1/m,2.5e9", "2.9e9,1/m,3.0e9")
        .replace("price list", "")
        .replace("role,secondary", "role,middle")
    )
    said = "\n".join(faults_of(tmp_path, bad))
    for expected in (
        "line 6: our_fine.face_area: its unit is missing",
        "the scale of the size is not said",
        "our_fine.ratio at 5 um(c) (value)",
        "loading_scala",
        "property 'loading_scale' is missing",
        "low and high must bracket the value",
        "its source is missing",
        "'middle'",
    ):
        assert expected in said or expected.replace("'", '"') in said, (expected, said)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("ratio at 4 um(c),75,1", "ratio at 4 um(c),98.7,%", "efficiency in percent"),
        ("ratio at 5 um(c),200,1", "ratio at 5 um(c),20,1", "fall with size"),
        ("ratio at 5 um(c),200,1,,,maker's data sheet,,\n", "", "line"),
        ("our_fine,ratio at 5 um(c),200,1,,,maker's data sheet,,\n", "", "two are needed"),
        ("head,head_large", "head,head_huge", "head_huge"),
        ("kind,element", "kind,thing", "no kind of item"),
        ("cost,52,1", "cost,52,1,,,price list,,\nour_fine,cost,53,1", "given twice"),
        ("cost,52,1", "cost,cheap,1", "cheap"),
        ("cost,52,1", "cost,nan,1", "nan"),
        ("cost,52,1", "cost,52,1,,,x,,\nour_fine,bowl,180,mL", "half a water separator"),
        ("cost,52,1", "cost,52,1,,,x,,\ntube,kind,hose,,,,,,\ntube,bore,9,mm", "has no fitting"),
        (HEAD, "item,property", "the first line must be"),
        ("loading_scale,8.5,g", "loading_scale,8.5,mm", "mm"),
    ],
)
def test_each_mistake_says_what_is_wrong(old: str, new: str, said: str, tmp_path: Path) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new)
    if "has no fitting" in said:
        text += "tube,cost,3,1,,,x,,\n"
    told = faults_of(tmp_path, text)
    assert any(said in each for each in told), told
    assert all(each.startswith("error: ours.csv") for each in told)


def test_what_is_no_catalogue_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match="there is no file"):
        read_catalogue(tmp_path / "none.csv")
    file = tmp_path / "binary.csv"
    file.write_bytes(b"\xff\xfe\x00item")
    with pytest.raises(InputError, match="UTF-8"):
        read_catalogue(file)


def test_the_example_of_the_manual_can_be_read(tmp_path: Path) -> None:
    page = Path(__file__).parents[2] / "docs" / "catalogue.md"
    example = page.read_text("utf-8").split("```")[1].strip()
    found = read_catalogue(written(tmp_path, example))
    assert "our_fine" in {each.id for each in found.filters}
