"""How near two words are, and a word's stem: enough to forgive a slip of the pen, no more."""

from collections.abc import Collection

LETTERS_FOR_ONE, LETTERS_FOR_TWO = 5, 8
"""From so many letters on one slip is forgiven, and two."""
DOUBLED = frozenset("bdgklmnprtz")
MIN_STEM = 3


def stem(word: str) -> str:
    """The word without the ends of number and tense: `showing`, `shows` and `showed` are `show`."""
    for end in ("ing", "ed", "es", "s"):
        cut = word[: -len(end)]
        if word.endswith(end) and len(cut) >= MIN_STEM and not (end == "s" and word.endswith("ss")):
            word = cut
            break
    if len(word) > MIN_STEM and word[-1] == word[-2] and word[-1] in DOUBLED:
        word = word[:-1]
    if len(word) > MIN_STEM and word.endswith("e"):
        word = word[:-1]
    return word[:-1] + "i" if len(word) > MIN_STEM and word.endswith("y") else word


def slips(one: str, other: str, *, most: int) -> int:
    """Letters to change, add, drop or swap with their neighbour to make one word of the other; `most` + 1 if more.

    The optimal string alignment distance [Damerau1964].
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, start=1):
        last, row_before = before, row
        row = [i]
        for j, b in enumerate(other, start=1):
            best = min(row_before[j] + 1, row[j - 1] + 1, row_before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                best = min(best, last[j - 2] + 1)
            row.append(best)
        before = row_before
        if min(row) > most:
            return most + 1
    return row[-1]


def meant(word: str, known: Collection[str]) -> str | None:
    """The known word that a misspelt one is meant to be; None where none is near, or several are equally so.

    The first letter must be right, and only words of five letters or more are forgiven a slip, of eight or more two.
    Both words are compared as they stand and by their stems, so that a slip in `buttons` is found by `button`.
    """
    found: dict[int, list[str]] = {}
    for one in known:
        for mine, theirs in ((word, one), (stem(word), stem(one))):
            longest = max(len(mine), len(theirs))
            most = 2 if longest >= LETTERS_FOR_TWO else 1 if longest >= LETTERS_FOR_ONE else 0
            if most and theirs[0] == mine[0] and (count := slips(mine, theirs, most=most)) <= most:
                found.setdefault(count, []).append(one)
    nearest = found[min(found)] if found else []
    stems = {stem(one) for one in nearest}
    return nearest[0] if len(stems) == 1 else None
