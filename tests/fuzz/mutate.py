"""Damage that knows what it damages: trees of JSON, words of text, numbers in bytes, chunks of GLB."""

import json
import struct
from random import Random
from typing import Any

NUMBERS = [
    0,
    1,
    -1,
    2,
    3,
    7,
    8,
    9,
    255,
    65535,
    2**31 - 1,
    2**32 - 1,
    2**53,
    2**63,
    10**12,
    10**8,
    0.5,
    -0.0,
    1e30,
    1e308,
]
VALUES = [*NUMBERS, None, True, False, "", "x", "a\0b", "é" * 50, "\udce9", "../../etc", [], {}, [0], [None], {"a": 1}]
WORDS = [b"0", b"-1", b"1e400", b"nan", b"inf", b"9" * 5000, b"[" * 2000, b"{a=" * 1500, b'"', b"\\", b"\0", b"\xff",
         b"#", b"<", b">", b"&", b"=", b"/", b"//", b"\n", b" ", b"1_0", b"0x10", b"true", b"99999999"]  # fmt: skip
BYTES_OF_INTEREST = [b"\0", b"\xff", b"\x7f", b"\x80", b"PK\x03\x04", b"\x93NUMPY", b"glTF", b"\xff\xff\xff\xff"]


def damaged(data: bytes, form: str, random: Random, others: list[bytes]) -> bytes:
    """A damaged copy, one to four changes deep; `others` are further sound files of the kind."""
    for _ in range(random.choice((1, 1, 1, 2, 3, 4))):
        data = _once(data, form, random, others)
    return data


def _once(data: bytes, form: str, random: Random, others: list[bytes]) -> bytes:
    if random.random() < 0.15:
        return in_bytes(data, random, others)
    if form == "glb":
        return in_glb(data, random)
    if form == "json":
        return in_json(data, random)
    return in_text(data, random) if form == "text" else in_bytes(data, random, others)


def in_glb(data: bytes, random: Random) -> bytes:
    """The JSON of a GLB changed and its lengths put right, or its binary changed."""
    try:
        length = struct.unpack_from("<I", data, 12)[0]
        if random.random() < 0.25:
            at = 20 + length
            return data[:at] + in_bytes(data[at:], random, [])
        text = in_json(data[20 : 20 + length], random)
    except struct.error:
        return in_bytes(data, random, [])
    text += b" " * (-len(text) % 4)
    body = struct.pack("<II", len(text), 0x4E4F534A) + text + data[20 + length :]
    return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body


def in_json(data: bytes, random: Random) -> bytes:
    """One entry of the tree replaced, left out, doubled, renamed, nested or swapped with another."""
    try:
        tree = json.loads(data)
        _change(tree, random)
        return json.dumps(tree, ensure_ascii=random.random() < 0.5).encode("utf-8", "surrogatepass")
    except (ValueError, RecursionError):  # damaged before, or nested again and again
        return in_text(data, random)


def _change(tree: Any, random: Random) -> None:
    """One change somewhere in the tree."""
    holders = _holders(tree)
    if not holders:
        raise ValueError("nothing to change")
    holder = random.choice(holders)
    key: Any = random.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    deed = random.randrange(7)
    if deed <= 2:
        holder[key] = _near(holder[key], random)
    elif deed == 3:
        del holder[key]
    elif deed == 4:
        _double(holder, key, random)
    elif deed == 5:
        deep: Any = holder[key]
        for _ in range(random.choice((1, 2, 99, 101, 400))):
            deep = [deep] if random.random() < 0.5 else {"a": deep}
        holder[key] = deep
    else:
        other = random.choice(holders)
        holder[key] = json.loads(json.dumps(random.choice(list(other.values()) if isinstance(other, dict) else other)))


def _holders(tree: Any) -> list[Any]:
    """Every dictionary and list that holds something."""
    found, queue = [], [tree]
    while queue:
        item = queue.pop()
        if isinstance(item, dict | list) and item:
            found.append(item)
            queue.extend(item.values() if isinstance(item, dict) else item)
    return found


def _near(value: Any, random: Random) -> Any:
    """Another value: near the old one where it is a number, else anything."""
    if isinstance(value, int | float) and not isinstance(value, bool) and random.random() < 0.5:
        return random.choice((value + 1, value - 1, -value, value * 2, value * 1000, float(value)))
    return random.choice(VALUES)


def _double(holder: Any, key: Any, random: Random) -> None:
    if isinstance(holder, dict):
        holder[f"{key}{random.choice(('', 's', '_0', chr(0)))}x"] = holder[key]
    else:
        holder.extend([holder[key]] * random.choice((1, 2, 50)))


def in_text(data: bytes, random: Random) -> bytes:
    """One word or line replaced, left out, doubled, moved or cut."""
    separator = random.choice((b" ", b"\n", b",", b'"', b"<"))
    parts = data.split(separator)
    at = random.randrange(len(parts))
    deed = random.randrange(5)
    if deed <= 1:
        parts[at] = random.choice(WORDS)
    elif deed == 2:
        del parts[at]
    elif deed == 3:
        parts[at:at] = [parts[at]] * random.choice((1, 2, 30))
    else:
        other = random.randrange(len(parts))
        parts[at], parts[other] = parts[other], parts[at]
    return separator.join(parts)


def in_bytes(data: bytes, random: Random, others: list[bytes]) -> bytes:
    """Bytes replaced, inserted, cut out, cut off, a number overwritten, or the tail of another file put on."""
    at = random.randrange(len(data) + 1)
    deed = random.randrange(6)
    if deed == 0:
        return data[:at] + random.choice(BYTES_OF_INTEREST) + data[at + random.randrange(5) :]
    if deed == 1:
        return data[:at] + random.randbytes(random.randrange(1, 5)) + data[at:]
    if deed == 2:
        return data[:at] + data[at + random.randrange(1, 40) :]
    if deed == 3:
        return data[:at]
    if deed == 4 or not others:
        at -= at % 4
        code, value = random.choice((("<I", 2**32 - 1), ("<I", 0), ("<I", 10**8), ("<f", float("nan")), ("<f", 1e38)))
        return data[:at] + struct.pack(code, value) + data[at + 4 :]
    other = random.choice(others)
    return data[:at] + other[random.randrange(len(other)) :]
