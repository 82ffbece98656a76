"""Connects pages to the session: assigns their requests to workers, limits their number, runs the check."""

import logging
import threading
from collections.abc import Callable
from functools import partial
from typing import Protocol, runtime_checkable

from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.page.about import About, CheckState
from dressform.garment.following import METHODS
from dressform.web import requests
from dressform.web.about import DONE, FAILED, NONE, RUNNING, STOPPED, Findings, found_report, live_about
from dressform.web.answers import CheckAnswer, EditAnswer, FitAnswer, answer_pack
from dressform.web.body_queries import answer_measures, answer_pose, answer_tape
from dressform.web.checking import check_all
from dressform.web.fault_queries import answer_compare, answer_faults, answer_layer
from dressform.web.fitted_garments import Variant
from dressform.web.following import page_settings
from dressform.web.requests import RequestError, checked_name
from dressform.web.saving import answer_case, answer_export, answer_save
from dressform.web.session import Session
from dressform.web.shapes import answer_meshes, answer_shape
from dressform.web.workers import BackgroundJob, Cancelled, Worker

LOG = logging.getLogger(__name__)
MAX_PAGES = 24

Work = Callable[[BackgroundJob], bytes]


@runtime_checkable
class Page(Protocol):
    """The interface of a connected page that the hub uses."""

    def changed(self) -> None:
        """The About has changed."""

    def progress(self, done: int, of: int, words: str) -> None:
        """The check has come so far."""

    async def close(self, code: int) -> None:
        """End the connection."""


class Hub:
    """Keeps every connected page, and assigns the work that pages request."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.check: BackgroundJob | None = None
        self._findings: Findings | None = None
        self._check_state: CheckState = NONE
        self._pages: list[Page] = []
        self._lock = threading.Lock()

    @property
    def is_full(self) -> bool:
        """Whether no more pages may come in."""
        return len(self._pages) >= MAX_PAGES

    def enter(self, page: Page) -> None:
        """A page has connected."""
        self._pages.append(page)
        self.session.listen(page.changed)

    def leave(self, page: Page) -> None:
        """A page has gone."""
        self._pages.remove(page)
        self.session.unlisten(page.changed)

    async def close(self, code: int) -> None:
        """End every connection."""
        for page in tuple(self._pages):
            await page.close(code)

    def about(self) -> About:
        """The About as it is now."""
        with self._lock:
            findings, state = self._findings, self._check_state
        return live_about(self.session, findings, state)

    def report(self) -> CheckReport:
        """The results for garments as they are now."""
        with self._lock:
            findings = self._findings
        return found_report(self.session, findings)

    def work_of(self, request: requests.AnyRequest) -> tuple[Worker, Work]:
        """The worker that answers a request, and the work it does."""
        session = self.session
        match request:
            case requests.ShapeRequest():
                return session.shapes, lambda _: answer_shape(session, request)
            case requests.FaultsRequest():
                return session.faults, lambda _: answer_faults(session, request)
            case requests.CompareRequest():
                return session.faults, lambda _: answer_compare(session, request)
            case requests.LayerRequest():
                return session.long, lambda job: answer_layer(session, request, job)
            case requests.MeshesRequest():
                repaired = any(session.variant(key).repaired for key in request.garments)
                return session.long if repaired else session.short, lambda job: answer_meshes(session, request, job)
            case requests.FitRequest():
                return session.long, lambda job: self._fit(request, job)
            case requests.EditRequest():
                return session.short, lambda job: self._edit(request, job)
            case requests.MeasuresRequest():
                return session.short, lambda _: answer_measures(session, request)
            case requests.TapeRequest():
                return session.short, lambda job: answer_tape(session, request, job)
            case requests.PoseRequest():
                return session.short, lambda _: answer_pose(session, request)
            case requests.SaveRequest():
                return session.short, lambda _: answer_save(session, request)
            case requests.CaseRequest():
                return session.short, lambda _: answer_case(session, request, self.about().clusters)
            case requests.ExportRequest():
                return session.long, lambda job: answer_export(session, request, self.report(), job)
            case requests.CheckRequest():
                return session.checks, lambda job: self._check(request, job)
            case requests.CancelRequest():
                raise RequestError("A cancel request cannot be cancelled.", request_id=request.id)

    def start_check(self) -> None:
        """Check everything in the background."""
        self.check = BackgroundJob(self._tell_progress)
        self.session.checks.submit(partial(self._run_check, self.session.opened.base, self.check))

    def _check(self, request: requests.CheckRequest, job: BackgroundJob) -> bytes:
        self._run_check(request.base, job)
        return answer_pack(CheckAnswer(id=request.id))

    def _run_check(self, base: int, job: BackgroundJob) -> None:
        """Check everything, and notify every page whenever there are more results."""
        self._state(RUNNING)
        try:
            for findings in check_all(self.session, base, self.session.opened.shapes, job):
                with self._lock:
                    self._findings = findings
                self._state(RUNNING)
        except Cancelled:
            self._state(NONE if self._findings is None else STOPPED)
            raise
        except Exception:
            LOG.exception("The check did not end")
            self._state(FAILED)
            raise
        else:
            self._state(DONE)
        finally:
            if self.check is job:
                self.check = None

    def _state(self, state: CheckState) -> None:
        with self._lock:
            self._check_state = state
        self.session.tell()

    def _tell_progress(self, done: int, of: int, words: str) -> None:
        for page in tuple(self._pages):
            page.progress(done, of, words)

    def _fit(self, request: requests.FitRequest, job: BackgroundJob) -> bytes:
        beside = self.session.variant(request.garment)
        method = checked_name("method", request.method or beside.method, dict.fromkeys((*METHODS, beside.method)))
        made = Variant(beside.name, method, request.repaired, request.opened)
        self.session.beside(request.base, made, job)
        return answer_pack(FitAnswer(id=request.id, garment=made.key))

    def _edit(self, request: requests.EditRequest, job: BackgroundJob) -> bytes:
        variant = self.session.variant(request.garment)
        if variant.opened:
            raise RequestError("This garment is shown as it was opened. Edit the one beside it.")
        now = self.session.edit(variant.name, request.settings, job)
        return answer_pack(EditAnswer(id=request.id, garment=request.garment, settings=page_settings(now)))
