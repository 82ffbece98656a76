"""Kernels that are compiled ahead: what cannot be compiled, or not be kept, is said."""

import pytest

from dressform.errors import DressformError
from dressform.jobs import kernels


def test_a_process_that_fails_to_compile_is_told(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture) -> None:
    monkeypatch.setattr(kernels, "HALVES", ("nothing=True", "checks=False, repairs=False"))
    with pytest.raises(DressformError, match="warm: a process that compiles failed"):
        kernels.compile_kernels()
    assert "nothing" in capfd.readouterr().err


def test_kernels_that_can_be_kept_nowhere_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernels, "HALVES", ())
    monkeypatch.setattr(kernels, "_kept", lambda: 0)
    with pytest.raises(DressformError, match=r"warm: .* must be writable, or NUMBA_CACHE_DIR name a folder that is"):
        kernels.compile_kernels()


def test_what_is_compiled_already_is_counted_as_nothing_new(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = iter((7, 9, 9, 9))
    monkeypatch.setattr(kernels, "HALVES", ())
    monkeypatch.setattr(kernels, "_kept", lambda: next(kept))
    assert kernels.compile_kernels()[0] == 2
    assert kernels.compile_kernels()[0] == 0
