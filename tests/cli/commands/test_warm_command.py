"""`dressform warm`: says how much was compiled."""

from collections.abc import Callable
from typing import Any

import pytest

from dressform.jobs import kernels


@pytest.mark.parametrize(
    ("made", "said"), [(114, "Compiled 114 kernels in 31 s.\n"), (0, "All kernels are compiled.\n")]
)
def test_warm_says_how_many_kernels_were_compiled(
    made: int, said: str, dressform: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kernels, "compile_kernels", lambda: (made, 31.4))
    ended = dressform("warm")
    assert (ended.code, ended.out) == (0, said)
