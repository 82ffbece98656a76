"""What is known of the cases of a triage so far: recalled, measured, kept as it is finished."""

import hashlib
from collections.abc import Sequence
from contextlib import closing

from msgspec import Struct

from dressform.body.stance import Stance
from dressform.causes.explained_garment import explained_wardrobe
from dressform.fit.fit import Fit
from dressform.formats.case_file import Case
from dressform.formats.load import BodyFile, garment_file_of
from dressform.formats.results.triage_schema import FAILED
from dressform.jobs.case.files import sha256_of
from dressform.jobs.explain.explain import others_of
from dressform.jobs.progress import Progress, stage
from dressform.jobs.provenance import versions
from dressform.jobs.triage.examine import CaseSeen, CaseTask, ComplaintsTask, ExamineJob, GarmentCaused
from dressform.jobs.triage.kept import Kept
from dressform.jobs.triage.match import stance_of
from dressform.jobs.triage.records import CausedGarment, SeenCase
from dressform.jobs.triage.wardrobe import GarmentCases, ReadCase
from dressform.jobs.triage.words.hear import Heard, hear
from dressform.jobs.triage.words.vocabulary import STANCE
from dressform.report.pictures.looks import look_of
from dressform.sweep.staff import run_tasks


class TriageDesk:
    """What is known of the cases so far."""

    def __init__(
        self, groups: Sequence[GarmentCases], stances: dict[str, tuple[Stance, ...]], kept: Kept | None, pictures: bool
    ) -> None:
        self.groups, self._stances, self._kept, self._pictures = groups, stances, kept, pictures
        self.heard = {case.file: heard_of(case.case) for group in groups for case in group.cases}
        self._skins: dict[str, str] = {}
        self.seen: dict[str, SeenCase] = {}
        self.caused: dict[str, CausedGarment] = {}

    def recall(self) -> None:
        """Take up what is kept."""
        if self._kept is None:
            return
        for group in self.groups:
            for case in group.cases:
                seen = self._kept.get(self._case_key(group, case), SeenCase)
                if seen is not None:
                    self.seen[case.file] = seen
            caused = self._kept.get(self._group_key(group), CausedGarment)
            if caused is not None:
                self.caused[group.key] = caused

    def is_done(self, group: GarmentCases) -> bool:
        """Whether nothing is left to do for a garment."""
        return group.key in self.caused and all(case.file in self.seen for case in group.cases)

    def stance(self, group: GarmentCases, case: ReadCase) -> str:
        """Name of the stance that a case means; empty at rest."""
        if case.file in group.posed:
            return group.posed[case.file].name
        told = case.case.complaint
        names = {stance.name: stance for stance in self._stances.get(group.body.name, ())}
        if told is not None and told.stance:
            exact = next((name for name in names if name.lower() == told.stance.lower()), "")
            return exact or stance_of(hear(told.stance).said(STANCE), names)
        return stance_of(self.heard[case.file].said(STANCE), names)

    def work(self, fits: dict[str, Fit], workers: int, progress: Progress | None) -> None:
        """Do what is left, and keep it as it is finished."""
        todo = [group for group in self.groups if group.key in fits]
        bodies = {group.body.name: group.body for group in todo}
        wardrobes = {
            name: explained_wardrobe(others=others_of(body) if isinstance(body.source, BodyFile) else (), kept=1)
            for name, body in bodies.items()
        }
        looks = {key: look_of(garment_file_of(fit.garment)) for key, fit in fits.items()} if self._pictures else {}
        job = ExamineJob(fits, wardrobes, self._stances, looks)
        by_key = {group.key: group for group in todo}
        by_file = {case.file: case for group in todo for case in group.cases}
        tasks = sorted((self._task(group) for group in todo), key=lambda task: -len(task.cases))
        step = stage(progress, "measuring complaints")
        total = len(by_file) + len(todo)
        done = sum(file in self.seen for file in by_file)
        with closing(run_tasks(job, tasks, workers=workers)) as events:
            for event in events:
                group = by_key[event.garment]
                if isinstance(event, CaseSeen):
                    self.seen[event.file] = event.seen
                    if event.seen.outcome != FAILED:
                        self._keep(self._case_key(group, by_file[event.file]), event.seen)
                elif isinstance(event, GarmentCaused):
                    self.caused[group.key] = event.caused
                    if not event.caused.problem:
                        self._keep(self._group_key(group), event.caused)
                done += 1
                if step is not None:
                    step(done, total)

    def _keep(self, key: str, record: Struct) -> None:
        if self._kept is not None:
            self._kept.put(key, record)

    def _task(self, group: GarmentCases) -> ComplaintsTask:
        cases = []
        for one in group.cases:
            shape, told = one.case.shape, one.case.complaint
            weights = None if shape is None else group.body.weights(shape.weights)
            exact = not (told is not None and told.tape_cm)
            cases.append(
                CaseTask(
                    one.file,
                    self.heard[one.file],
                    weights,
                    self.stance(group, one),
                    exact,
                    one.case.place,
                    self.seen.get(one.file),
                )
            )
        return ComplaintsTask(group.key, tuple(cases), tuple(group.posed.values()))

    def _case_key(self, group: GarmentCases, case: ReadCase) -> str:
        """Hash of everything that what a case finds depends on."""
        body = group.body.source
        if group.body.name not in self._skins:
            self._skins[group.body.name] = sha256_of(body.path) if isinstance(body, BodyFile) else ""
        skin = self._skins[group.body.name]
        heard = repr(self.heard[case.file])  # a larger vocabulary may find what a smaller one did not
        parts = (
            *versions().values(),
            group.sha256,
            skin,
            group.body.name,
            case.sha256,
            self.stance(group, case),
            heard,
        )
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:32]

    def _group_key(self, group: GarmentCases) -> str:
        keys = sorted(self._case_key(group, case) for case in group.cases)
        return hashlib.sha256("\0".join(("causes", str(self._pictures), *keys)).encode()).hexdigest()[:32]


def heard_of(case: Case) -> Heard:
    """What a case's note and its words for the place say."""
    place = "" if case.complaint is None else case.complaint.where
    return hear(f"{case.note}. {place}" if place else case.note)
