"""What all pages share stays true when several threads ask at once."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from dressform.web import session as session_module
from dressform.web.fitted_garments import FittedGarment, Variant, fit_variant
from dressform.web.requests import RequestError, SettingsChange
from dressform.web.session import Session
from dressform.web.workers import BackgroundJob, Cancelled
from livepage import KEY, PATIENCE, opened


@pytest.fixture(scope="module")
def start(tmp_path_factory: pytest.TempPathFactory):
    return opened(tmp_path_factory.mktemp("session"))


@pytest.fixture
def session(start) -> Session:
    return Session(start)


def test_a_garment_that_many_ask_for_at_once_is_fitted_once(session: Session, monkeypatch: pytest.MonkeyPatch):
    made: list[str] = []

    def counted(*args: object, **more: object) -> FittedGarment:
        made.append(threading.current_thread().name)
        return fit_variant(*args, **more)

    monkeypatch.setattr(session_module, "fit_variant", counted)
    with ThreadPoolExecutor(8) as threads:
        fitted_one = list(threads.map(lambda _: session.fitted(0, KEY, BackgroundJob()), range(8)))
    assert len(made) == 1
    assert all(one is fitted_one[0] for one in fitted_one)


def test_an_edit_during_a_fit_is_in_what_comes_out(session: Session, monkeypatch: pytest.MonkeyPatch):
    begun, edited = threading.Event(), threading.Event()

    def slow(*args: object, **more: object) -> FittedGarment:
        if not begun.is_set():
            begun.set()
            assert edited.wait(PATIENCE)
        return fit_variant(*args, **more)

    monkeypatch.setattr(session_module, "fit_variant", slow)
    with ThreadPoolExecutor(1) as threads:
        fitted = threads.submit(session.fitted, 0, KEY, BackgroundJob())
        assert begun.wait(PATIENCE)
        session.edit("tube", SettingsChange(strength=0.0), BackgroundJob())
        edited.set()
        fitted_one = fitted.result(PATIENCE)
    assert fitted_one.revision == 1
    assert fitted_one.fit.garment.strength.max() == 0.0


def test_until_an_edit_is_done_the_cloth_follows_as_before(session: Session, monkeypatch: pytest.MonkeyPatch):
    before = session.fitted(0, KEY, BackgroundJob())
    seen: list[FittedGarment] = []

    def watched(*args: object, **more: object) -> FittedGarment:
        seen.append(session.ready(0, KEY))
        return fit_variant(*args, **more)

    monkeypatch.setattr(session_module, "fit_variant", watched)
    session.edit("tube", SettingsChange(strength=0.5), BackgroundJob())
    assert seen == [before]
    assert session.ready(0, KEY).revision == 1


def test_an_edit_fits_anew_on_every_base_body_that_is_worn(session: Session):
    for base in (0, 1):
        session.fitted(base, KEY, BackgroundJob())
    session.edit("tube", SettingsChange(strength=0.5), BackgroundJob())
    assert [session.ready(base, KEY).fit.following.strength for base in (0, 1)] == [0.5, 0.5]


def test_a_variant_that_could_not_be_made_is_not_kept(session: Session):
    off = BackgroundJob()
    off.cancel()
    repaired = Variant("tube", "smooth", repaired=True)
    with pytest.raises(Cancelled):
        session.beside(0, repaired, off)
    assert repaired not in session.variants
    with pytest.raises(RequestError, match="no garment 'tube smooth repaired'"):
        session.variant(repaired.key)


def test_an_edit_that_cannot_be_followed_changes_nothing(session: Session):
    with pytest.raises(RequestError, match="no part of 'tube' 'hood'"):
        session.edit("tube", SettingsChange(hard=["hood"]), BackgroundJob())
    assert session.revision(session.variant(KEY)) == 0
    assert session.edited() == dict(session.opened.following)


def test_listeners_hear_every_edit_until_they_go(session: Session):
    heard: list[int] = []

    def listener() -> None:
        heard.append(1)

    session.listen(listener)
    session.edit("tube", SettingsChange(rotation_share=0.1), BackgroundJob())
    session.unlisten(listener)
    session.edit("tube", SettingsChange(rotation_share=0.2), BackgroundJob())
    assert heard == [1]


def test_a_shape_asked_for_makes_the_run_busy_for_a_while(session: Session):
    assert not session.is_busy(60.0)
    session.was_asked()
    assert session.is_busy(60.0)
    assert not session.is_busy(0.0)
