"""Where pages meet the session: who does which ask, how many pages there may be, and the check in the background."""

import logging
import threading
from collections.abc import Callable
from functools import partial
from typing import Any, Protocol, runtime_checkable

from dressform.formats.results.check_report import CheckReport
from dressform.garment.following import METHODS
from dressform.report.page.pack import write_pack
from dressform.web import asks
from dressform.web.about import DONE, FAILED, NONE, RUNNING, STOPPED, Findings, found_report, live_about
from dressform.web.asks import AskError, checked_name
from dressform.web.checking import check_all
from dressform.web.errands import answer_measures, answer_pose, answer_tape
from dressform.web.following import page_settings
from dressform.web.found import answer_compare, answer_faults, answer_layer
from dressform.web.saving import answer_case, answer_export, answer_save
from dressform.web.session import Session
from dressform.web.shapes import answer_meshes, answer_shape
from dressform.web.workers import Cancelled, Job, Worker
from dressform.web.worn import Variant

LOG = logging.getLogger(__name__)
MAX_PAGES = 24

Work = Callable[[Job], bytes]


@runtime_checkable
class Page(Protocol):
    """What the hall needs of a connected page."""

    def changed(self) -> None:
        """The About has changed."""

    def progress(self, done: int, of: int, words: str) -> None:
        """The check has come so far."""

    async def close(self, code: int) -> None:
        """End the connection."""


class Hall:
    """Knows every connected page, and gives out the work that pages ask for."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.check: Job | None = None
        self._findings: Findings | None = None
        self._check_state: dict[str, Any] = {"state": NONE}
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

    def about(self) -> dict[str, Any]:
        """The About as it is now."""
        with self._lock:
            findings, state = self._findings, dict(self._check_state)
        return live_about(self.session, findings, state)

    def report(self) -> CheckReport:
        """What was found of garments as they are now."""
        with self._lock:
            findings = self._findings
        return found_report(self.session, findings)

    def work_of(self, ask: asks.AnyAsk) -> tuple[Worker, Work]:
        """Who answers an ask, and how."""
        session = self.session
        match ask:
            case asks.Shape():
                return session.shapes, lambda _: answer_shape(session, ask)
            case asks.Faults():
                return session.faults, lambda _: answer_faults(session, ask)
            case asks.Compare():
                return session.faults, lambda _: answer_compare(session, ask)
            case asks.LayerAsk():
                return session.long, lambda job: answer_layer(session, ask, job)
            case asks.Meshes():
                repaired = any(session.variant(key).repaired for key in ask.garments)
                return session.long if repaired else session.errands, lambda job: answer_meshes(session, ask, job)
            case asks.FitAsk():
                return session.long, lambda job: self._fit(ask, job)
            case asks.Edit():
                return session.errands, lambda job: self._edit(ask, job)
            case asks.MeasuresAsk():
                return session.errands, lambda _: answer_measures(session, ask)
            case asks.Tape():
                return session.errands, lambda job: answer_tape(session, ask, job)
            case asks.PoseAsk():
                return session.errands, lambda _: answer_pose(session, ask)
            case asks.Save():
                return session.errands, lambda _: answer_save(session, ask)
            case asks.CaseAsk():
                return session.errands, lambda _: answer_case(session, ask, self.about()["clusters"])
            case asks.Export():
                return session.long, lambda job: answer_export(session, ask, self.report(), job)
            case asks.Check():
                return session.checks, lambda job: self._check(ask, job)
            case asks.Cancel():
                raise AskError("Calling off is no work.", ask_id=ask.id)

    def start_check(self) -> None:
        """Check everything in the background."""
        self.check = Job(self._tell_progress)
        self.session.checks.submit(partial(self._run_check, self.session.opened.base, self.check))

    def _check(self, ask: asks.Check, job: Job) -> bytes:
        self._run_check(ask.base, job)
        return write_pack({"kind": "check", "id": ask.id}, {})

    def _run_check(self, base: int, job: Job) -> None:
        """Check everything, and tell every page each time that more is known."""
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

    def _state(self, state: str) -> None:
        with self._lock:
            self._check_state = {"state": state}
        self.session.tell()

    def _tell_progress(self, done: int, of: int, words: str) -> None:
        for page in tuple(self._pages):
            page.progress(done, of, words)

    def _fit(self, ask: asks.FitAsk, job: Job) -> bytes:
        beside = self.session.variant(ask.garment)
        method = checked_name("method", ask.method or beside.method, METHODS)
        made = Variant(beside.name, method, ask.repaired, ask.opened)
        self.session.beside(ask.base, made, job)
        return write_pack({"kind": "fit", "id": ask.id, "garment": made.key}, {})

    def _edit(self, ask: asks.Edit, job: Job) -> bytes:
        variant = self.session.variant(ask.garment)
        if variant.opened:
            raise AskError("This garment is shown as it was opened. Edit the one beside it.")
        now = self.session.edit(variant.name, ask.settings, job)
        return write_pack({"kind": "edited", "id": ask.id, "garment": ask.garment, "settings": page_settings(now)}, {})
