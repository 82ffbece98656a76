"""A garment in the picture of its file, as a real browser draws it."""

import io
from collections.abc import Iterator

import numpy as np
import pytest
from PIL import Image

from dressform.fit.make import make_fit
from dressform.formats.load import load_garment
from dressform.report.page.pictures import pictures_of
from pagetools import Shown, drawing_browser, shown
from phantoms import phantom_body
from pictured import bare_report, pictured_tube, png, striped

pytestmark = pytest.mark.browser
STRIPES = 32
SIDES = 12


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    """A tube of twelve sides in 32 stripes, and a green lower quarter."""
    folder = tmp_path_factory.mktemp("picture")
    made = pictured_tube(png(striped(stripes=STRIPES, size=512)), sides=SIDES)
    source = load_garment(made.save(folder / "tube.glb"), units="m")
    fit = make_fit(phantom_body(rings=12, sides=16), source.garment)
    dressed = pictures_of(source, source.garment.faces, most=512)
    (folder / "report.html").write_text(bare_report(fit.body, fit, "tube smooth", dressed), encoding="utf-8")
    with drawing_browser() as browser, shown(browser, (folder / "report.html").as_uri(), size=(1024, 768)) as opened:
        opened.ready()
        yield opened
        assert opened.errors == []


def seen(page: Shown) -> np.ndarray:
    """The picture on the stage, without sliders: (rows, columns, 3)."""
    page.settle()
    shot = page.page.locator("canvas.picture").screenshot()
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)
    middle = pixels.shape[1] // 2
    return pixels[:, middle - 120 : middle + 120]


def changes(row: np.ndarray) -> int:
    """How often a row of pixels turns from red to blue or back."""
    told = row[np.abs(row[:, 0] - row[:, 2]) > 40]
    return int(np.count_nonzero(np.diff(np.sign(told[:, 0] - told[:, 2]))))


def test_a_picture_finer_than_the_mesh_is_seen(page: Shown) -> None:
    """Cloth had one colour per vertex: of 32 stripes on 12 sides none was left."""
    assert max(changes(row) for row in seen(page)) >= SIDES  # half of the stripes face the viewer


def test_the_lower_edge_of_a_picture_is_below(page: Shown) -> None:
    pixels = seen(page)
    is_green = (pixels[..., 1] > pixels[..., 0] + 40) & (pixels[..., 1] > pixels[..., 2] + 40)
    is_striped = np.abs(pixels[..., 0] - pixels[..., 2]) > 60
    assert np.flatnonzero(is_green.any(axis=1)).mean() > np.flatnonzero(is_striped.any(axis=1)).mean() + 20


def test_what_is_read_off_the_cloth_is_not_dyed_by_its_picture(page: Shown) -> None:
    layer = page.page.locator(".layers").get_by_text("clearance", exact=True)
    layer.click()
    assert max(changes(row) for row in seen(page)) <= 2
    page.page.locator(".layers").get_by_text("as worn", exact=True).click()
    assert max(changes(row) for row in seen(page)) >= SIDES
    page.look("picture-on-cloth")
