"""The report is one whole file: well formed, closed to the network, safe against hostile names, small enough."""

import base64
import hashlib
import json
import re
import zlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError, FileError, MatchError
from dressform.faults.results import SEVERITIES
from dressform.fit.fit import Fit
from dressform.formats.results.check_report import CheckReport, GarmentReport, Source
from dressform.formats.results.failed import FailedGarment
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.report.html import pictures as html_pictures
from dressform.report.html.parts import ReportGarment
from dressform.report.html.pictures import CLUSTER_SIZE, VIEW_WIDTH
from dressform.report.html.report import GLOSSARY_BESIDE, Report, make_report, write_report
from dressform.report.page.pack import read_pack
from dressform.report.triage.glossary import GLOSSARY
from report_scenes import Scene, check_of, large_scene, small_scene

pytestmark = pytest.mark.long

ROOT = Path(__file__).resolve().parents[3]
VOID = ("meta", "img", "br", "hr", "link")
MAX_BYTES = 6_000_000
HOSTILE = "</script><script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
LOADING = ("src", "href", "data", "action", "poster", "srcset", "background", "formaction")


class Document(HTMLParser):
    """Tags, attributes and text of a page; refuses what is not nested as it should be."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self._open: list[str] = []
        self.feed(html)
        self.close()
        assert not self._open, f"left open: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        {"script": self.scripts, "style": self.styles}.get(self._open[-1] if self._open else "", self.words).append(
            data
        )

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module", autouse=True)
def small_pictures() -> Iterator[None]:
    """Pictures as small as stamps: nothing here looks at them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(html_pictures, "VIEW_WIDTH", 60)
        patch.setattr(html_pictures, "CLUSTER_SIZE", (48, 48))
        yield


def report_of(scene: Scene, found: CheckReport | None = None, **how: int) -> Report:
    worn = {key: ReportGarment(fit, slider_points=2) for key, fit in scene.fits.items()}
    return make_report(scene.body, found or scene.found, worn, **how)


@pytest.fixture(scope="module")
def report(small_pictures: None) -> Report:
    scene, file = small_scene(), "/srv/keepers/cupboard/torn.glb"
    torn = FailedGarment(name="torn", file=file, stage="read", reason=f"{file}: ends within its header.")
    return report_of(scene, replace(scene.found, failed=(torn,)), workers=2)


@pytest.fixture(scope="module")
def document(report: Report) -> Document:
    return Document(report.html)


def packs_of(document: Document) -> list[tuple[str, bytes]]:
    kinds = [attributes.get("data-kind") for attributes in document.named("script")]
    texts = iter(document.scripts)
    return [(kind, zlib.decompress(base64.b64decode(next(texts)), -15)) for kind in kinds if kind is not None]


def test_the_first_thing_said_of_a_garment_is_its_verdict(document: Document) -> None:
    text = document.text
    assert (
        text.index("stiff tube")
        < text.index("grave at ")
        < text.index("loose tube")
        < text.index("clean at all 9 shapes")
    )
    assert "the worst first" in text


def test_garment_that_could_not_be_read_is_a_row_with_its_reason_below(document: Document) -> None:
    assert "torn not read –" in document.text
    assert "torn: not read: torn.glb: ends within its header." in document.text


def test_every_garment_is_pictured_from_three_sides_and_at_its_worst(document: Document, report: Report) -> None:
    described = [attributes["alt"] or "" for attributes in document.named("img")]
    for garment in ("stiff tube", "loose tube"):
        for view in ("from the front", "from the side", "from the back"):
            assert f"{garment} at the base, {view}" in described
        assert any(words.startswith(f"{garment} at its worst shape") for words in described)
    assert all(described)
    assert len(described) == len(report.pictures) + 1  # the gravest place of the one that is faulty is seen twice


def test_the_gravest_place_is_seen_from_near_before_anything_else_of_its_garment(document: Document) -> None:
    first, second = document.named("img")[:2]
    assert (first["alt"] or "").endswith("from near")
    assert (second["alt"] or "").startswith("stiff tube at its worst shape")
    assert [attributes["src"] for attributes in document.named("img")].count(first["src"]) == 2  # again at its place


def test_graver_places_stand_first(report: Report) -> None:
    places = report.html[report.html.index("r-places") :]
    grades = re.findall(r'</h4><span class="r-severity r-(\w+)"', places[: places.index("</ol>")])
    ranks = [SEVERITIES.index(grade) for grade in grades]
    assert len(ranks) > 1
    assert ranks == sorted(ranks, reverse=True)


def test_places_come_with_a_picture_and_charts_with_their_figures_as_tables(document: Document) -> None:
    assert "cloth deep in the body" in document.text
    for title in (
        "skin shows along each slider, the others at the base",
        "How far from the skin the cloth lies, by share of its area",
        "skin shows, cm², two sliders at their worse ends",
    ):
        assert title in document.text


def test_no_chart_is_drawn_twice(document: Document) -> None:
    assert not [attributes for attributes in document.named("svg") if attributes.get("role") == "img"]


def test_what_is_needed_to_make_it_again_is_told(document: Document) -> None:
    for words in ("b" * 64, "a" * 64, "body.glb", "exposed 0.2, 2, 20", "numpy", "0 to 1"):
        assert words in document.text
    for caution in ("personal data", "ISO 8559-1", "no medical"):
        assert caution in document.text


def test_nothing_is_loaded_from_anywhere(document: Document, report: Report) -> None:
    for tag, attributes in document.tags:
        for name in LOADING:
            value = attributes.get(name)
            is_beside = tag == "a" and value == GLOSSARY_BESIDE  # followed by hand, and loaded by nothing
            assert value is None or is_beside or value.startswith(("data:image/", "#")), f"<{tag} {name}={value!r}>"
        assert not [name for name in attributes if name.startswith("on")]
    assert not document.named("link")
    assert not re.search(r"@import|url\(\s*['\"]?(?:https?:|//)", "".join(document.styles))


def test_the_policy_lets_in_only_the_script_and_style_of_this_file(document: Document) -> None:
    (policy,) = [one["content"] or "" for one in document.named("meta") if one.get("http-equiv")]
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert set(rules["img-src"].split()) == {"data:", "blob:"}
    for kind, content in (("script-src", document.scripts[-1]), ("style-src", "".join(document.styles))):
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert rules[kind] == f"'sha256-{digest}'"


def test_no_folder_of_a_file_leaks(report: Report, document: Document) -> None:
    everything = report.html + "".join(str(data) for _, data in packs_of(document))
    for folder in ("/srv", "keepers", "cupboard", "wide/", str(ROOT), str(Path.home())):
        assert folder not in everything


def test_ids_are_given_once(document: Document) -> None:
    counts = Counter(attributes["id"] for _, attributes in document.tags if "id" in attributes)
    assert [name for name, count in counts.items() if count > 1] == []


def test_the_page_finds_its_data(document: Document) -> None:
    packs = packs_of(document)
    assert Counter(kind for kind, _ in packs)["cloth"] == 2
    (told,) = [read_pack(data).header for kind, data in packs if kind == "about"]
    assert told["life"] == "report"
    assert json.dumps(told, allow_nan=False)
    stored = [read_pack(data).header for kind, data in packs if kind == "layers"]
    for garment in told["garments"]:
        shapes = [header["shape"] for header in stored if header["garment"] == garment["key"]]
        assert None in shapes
        assert garment["worst"] in shapes
        assert told["shapes"].index(next(one for one in told["shapes"] if one["label"] == "base")) in shapes
    (mount,) = [attributes for attributes in document.named("div") if attributes.get("id") == "dressform"]
    assert mount["data-life"] == "report"


def test_layers_that_are_offered_are_stored(document: Document) -> None:
    packs = packs_of(document)
    (told,) = [read_pack(data).header for kind, data in packs if kind == "about"]
    stored = {
        name.removeprefix("layer/") for kind, data in packs if kind == "layers" for name in read_pack(data).arrays
    }
    offered = {layer["name"] for layer in told["layers"]}
    assert offered == stored
    assert "certified" not in offered  # nothing was proven
    assert "rigid_patch" not in offered  # no morph of the phantom moves a rigid patch


def hostile(scene: Scene) -> CheckReport:
    """The same check with names that try to break out."""

    def renamed(garment: GarmentReport) -> GarmentReport:
        return replace(
            garment,
            name=garment.name.replace("tube", HOSTILE),
            source=Source(f"C:\\secret\\{HOSTILE}.glb", HOSTILE),
            parts=(HOSTILE,),
            notes=(HOSTILE,),
        )

    body = replace(scene.found.body, name=HOSTILE, source=Source(f"/secret/{HOSTILE}", HOSTILE))
    settings = {**scene.found.settings, HOSTILE: HOSTILE, "mask": "/secret/x"}
    return replace(
        scene.found,
        body=body,
        settings=settings,
        versions={HOSTILE: HOSTILE},
        made=HOSTILE,
        garments=tuple(renamed(garment) for garment in scene.found.garments),
        failed=(FailedGarment(name=HOSTILE, file=f"/secret/{HOSTILE}", stage="read", reason=HOSTILE),),
    )


def test_hostile_names_stay_words() -> None:
    scene = small_scene()
    names = tuple(f"{HOSTILE} {number}" for number in range(3))
    box = replace(scene.body.range, names=names)
    body = replace(scene.body, name=HOSTILE, morph_names=names, range=box)
    found = hostile(scene)
    keys = {garment.name.replace(HOSTILE, "tube") + " smooth": garment.key for garment in found.garments}
    worn = {}
    for old, new in keys.items():
        fit = scene.fits[old]
        worn[new] = ReportGarment(
            replace(fit, body=body, garment=replace(fit.garment, name=HOSTILE, part_names=(HOSTILE,))), slider_points=2
        )
    report = make_report(body, found, worn)
    document = Document(report.html)
    assert HOSTILE in document.text
    assert len([one for one in document.named("script") if "data-kind" not in one]) == 1
    assert not [one for _, one in document.tags if any(name.startswith("on") for name in one)]
    assert all((one["src"] or "").startswith("data:image/webp;base64,") for one in document.named("img"))
    assert "secret" not in report.html
    assert all(re.fullmatch(r"[a-z0-9-]+\.png", name) for name in report.pictures)


def test_garments_come_worst_first_in_verdicts_pictures_and_places(report: Report) -> None:
    verdicts = [report.html.index(f"<bdi>{name}</bdi></h2>") for name in ("stiff tube", "loose tube")]
    places = [report.html.rindex(f"<h3><bdi>{name}</bdi></h3>\n") for name in ("stiff tube", "loose tube")]
    assert verdicts == sorted(verdicts)
    assert places == sorted(places)
    assert verdicts[1] < places[0]


def test_a_maker_is_told_of_their_garment_alone() -> None:
    scene, torn = small_scene(), FailedGarment(name="torn", file="torn.glb", stage="read", reason="ends early")
    following: dict[str, dict[str, str]] = {name: {} for name in ("stiff tube", "loose tube")}
    whole = replace(scene.found, failed=(torn,), settings={**scene.found.settings, "following": following})
    found = whole.for_maker("stiff tube")
    html = report_of(scene, found).html
    assert "1 garment on" in html
    assert "stiff tube" in html
    assert "loose tube" not in html
    assert "torn" not in re.sub(r"<script.*?</script>", "", html, flags=re.DOTALL)
    with pytest.raises(ArgumentError, match="a garment that was checked: loose tube, stiff tube"):
        scene.found.for_maker("skirt")


def test_pictures_lie_beside_the_file_as_png(report: Report, tmp_path: Path) -> None:
    folder = write_report(report, tmp_path / "keepers.html")
    assert folder == tmp_path / "keepers-pictures"
    whole = report.html.replace(GLOSSARY_BESIDE, f"keepers-pictures/{GLOSSARY}")
    assert (tmp_path / "keepers.html").read_text(encoding="utf-8") == whole
    names = {path.name for path in folder.iterdir()}
    assert names == {*report.pictures, GLOSSARY}
    assert {"01-stiff-tube-worst.png", "02-loose-tube-front.png"} <= names
    assert all(path.read_bytes().startswith(b"\x89PNG") for path in folder.glob("*.png"))


def test_a_report_that_cannot_be_written_leaves_nothing(report: Report, tmp_path: Path) -> None:
    (tmp_path / "keepers-pictures").write_text("in the way")
    with pytest.raises(FileError, match="cannot be written"):
        write_report(report, tmp_path / "keepers.html")
    assert [path.name for path in tmp_path.iterdir()] == ["keepers-pictures"]


def test_every_garment_of_the_check_must_be_worn() -> None:
    scene = small_scene()
    with pytest.raises(
        MatchError, match=r"`worn` must hold every garment of the check, got none for 'stiff tube smooth'"
    ):
        make_report(scene.body, scene.found, {"loose tube smooth": ReportGarment(scene.fits["loose tube smooth"])})


def test_progress_is_told_after_each_garment() -> None:
    told: list[tuple[int, int]] = []
    scene = small_scene()
    one = replace(scene.found, garments=scene.found.garments[:1])
    worn = {key: ReportGarment(fit, slider_points=2) for key, fit in scene.fits.items()}
    make_report(scene.body, one, worn, progress=lambda done, of: told.append((done, of)))
    assert told == [(1, 1)]


def test_a_repaired_garment_is_set_beside_itself() -> None:
    scene = small_scene()
    key = "stiff tube smooth"
    found = replace(scene.found, garments=tuple(one for one in scene.found.garments if one.key == key))
    fit = scene.fits[key]
    repaired = replace(fit, base=fit.base * [1.4, 1.0, 1.4])
    document = Document(
        make_report(scene.body, found, {key: ReportGarment(fit, repaired=repaired, slider_points=2)}).html
    )
    assert "repaired, worst shape" in document.text


def test_a_body_without_sliders_has_a_report() -> None:
    scene = small_scene()
    key, none = "loose tube smooth", Range.unit(())
    body = Body("still", scene.body.vertices, scene.body.faces, (), np.zeros((0, len(scene.body.vertices), 3)), none)
    cloth = scene.fits[key].garment
    fits = {key: Fit(body, cloth, DEFAULT_FOLLOWING, cloth.vertices, np.zeros((0, len(cloth.vertices), 3)))}
    document = Document(report_of(Scene(body, fits, check_of(body, fits, ShapeSettings(sobol=0)))).html)
    assert "0 sliders, 1 shape looked at" in document.text
    assert "clean at the one shape looked at" in document.text


def test_a_garment_of_ten_thousand_vertices_fits_into_six_megabytes() -> None:
    scene = large_scene()
    assert len(scene.body.vertices) >= 24_000
    assert len(scene.body.morph_names) == 12
    assert all(len(fit.base) >= 10_000 for fit in scene.fits.values())
    assert all(np.abs(fit.deltas).max(axis=(1, 2)).min() > 0.01 for fit in scene.fits.values())
    with pytest.MonkeyPatch.context() as patch:  # pictures of the size that they have in a report
        patch.setattr(html_pictures, "VIEW_WIDTH", VIEW_WIDTH)
        patch.setattr(html_pictures, "CLUSTER_SIZE", CLUSTER_SIZE)
        report = report_of(scene, workers=2)
    assert len(report.html.encode()) <= MAX_BYTES


def test_the_static_part_has_the_colours_of_the_page() -> None:
    def values(path: str) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name, value in re.findall(r"--([a-z]+): (oklch[^;]+|\"?[A-Z][^;]+|ui[^;]+);", (ROOT / path).read_text()):
            found.setdefault(name, []).append(value)
        return found

    page, static = values("web/src/style/colours.css"), values("src/dressform/report/html/report.css")
    assert {"paper", "ink", "grave", "serif", "sans"} <= set(static)
    assert {name: page[name] for name in static} == static


def test_no_class_of_the_static_part_is_meant_by_the_style_of_the_page(document: Document) -> None:
    style = (ROOT / "src/dressform/report/page/page.css").read_text(encoding="utf-8")
    meant = set(re.findall(r"\.([A-Za-z][\w-]*)", style))
    ours = {word for _, attributes in document.tags for word in (attributes.get("class") or "").split()}
    assert ours
    assert not ours & meant
