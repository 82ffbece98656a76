"""Work is done in order, says how far it is without flooding, and ends when it is called off."""

import threading
import time

import pytest

from dressform.web.workers import TELL_EVERY, BackgroundJob, Cancelled, Worker

PATIENCE = 10.0


def test_work_is_done_in_the_order_in_which_it_was_given():
    worker, done = Worker("test"), []
    futures = [worker.submit(lambda number=number: done.append(number)) for number in range(20)]
    for future in futures:
        future.result(PATIENCE)
    assert done == list(range(20))


def test_a_failure_is_told_and_the_next_work_is_done():
    worker = Worker("test")

    def fail() -> None:
        raise ValueError("no")

    failed, after = worker.submit(fail), worker.submit(lambda: 7)
    with pytest.raises(ValueError, match="no"):
        failed.result(PATIENCE)
    assert after.result(PATIENCE) == 7


def test_work_that_waits_can_be_taken_back():
    worker, gate, done = Worker("test"), threading.Event(), []
    first = worker.submit(lambda: gate.wait(PATIENCE))
    second = worker.submit(lambda: done.append("second"))
    assert second.cancel()
    gate.set()
    first.result(PATIENCE)
    worker.submit(lambda: None).result(PATIENCE)
    assert done == []


def test_a_job_that_was_called_off_ends_at_its_next_step():
    job = BackgroundJob()
    job.step(1, 10, "counting")
    job.cancel()
    with pytest.raises(Cancelled, match="called off"):
        job.step(2, 10, "counting")
    with pytest.raises(Cancelled, match="called off"):
        job.steps("counting")(3, 10)


def test_words_come_seldom_but_the_last_always():
    told = []
    job = BackgroundJob(lambda done, of, words: told.append(done))
    start = time.monotonic()
    for number in range(1, 1001):
        job.step(number, 1000, "counting")
    most = 2 + (time.monotonic() - start) / TELL_EVERY
    assert told[0] == 1
    assert told[-1] == 1000
    assert len(told) <= most


def test_a_thread_that_waits_for_work_keeps_the_last_one_alive_no_longer():
    worker, gone = Worker("test"), threading.Event()

    class Held:
        def __del__(self) -> None:
            gone.set()

    def use(held: Held) -> None:
        assert held is not None

    held = Held()
    worker.submit(lambda held=held: use(held)).result(PATIENCE)
    del held
    assert gone.wait(PATIENCE)
