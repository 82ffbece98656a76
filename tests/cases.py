"""Cases changed, and pictures of them, for tests."""

from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image


def pixels(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image).astype(int)


def replaced(case: Any, **changes: Any) -> Any:
    return type(case)(**{name: changes.get(name, getattr(case, name)) for name in case.__struct_fields__})
