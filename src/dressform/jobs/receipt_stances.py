"""The stances that a receipt lists, read back so that its proof can be redone."""

import json
from pathlib import Path

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.errors import FileError
from dressform.formats.results.stance_records import read_stance_records


def read_stances(receipt: Path | None, beside: Path, body: Body) -> tuple[Stance, ...]:
    """The stances of a receipt, none where it lists none.

    Args:
        receipt: The receipt that was asked for; without one `beside` is read where it is there.
        beside: The receipt beside the fitted garment.
        body: The body; its joints are those of the stances.

    Raises:
        FileError: the receipt that was asked for is not there, is no receipt, or its stances are of another skeleton.
    """
    path = beside if receipt is None else receipt
    if receipt is None and not beside.exists():
        return ()
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        records = data["proof"].get("stances", [])
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
        raise FileError.of(path, "", f"no receipt of a fitted garment ({problem})", "Give what `fit` wrote") from None
    if records and body.skeleton is None:
        raise FileError.of(path, "proof.stances", "stances for a body without joints", "Give the body of this garment")
    return read_stance_records(records, body.skeleton) if records and body.skeleton is not None else ()
