"""Whether two names are of one person: what a slip of a key or another spelling does not change.

In doubt they are the same, and the way out is to write both names in full: an inspection by the person who did
the work is worse than a second name typed once more.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from rigging.errors import Refusal


def name_of(who: str) -> str:
    """A person's name, in one line and without hidden characters.

    Raises Refusal: empty, or letters of two alphabets, which look alike and are not.
    """
    name = " ".join("".join(c for c in who if unicodedata.category(c) not in ("Cf", "Cc") or c.isspace()).split())
    if not any(c.isalnum() for c in name):
        raise Refusal("who writes this? Give the name with --who")
    scripts = {unicodedata.name(c, "?").split()[0] for c in name if c.isalpha()}
    if len(scripts & {"LATIN", "CYRILLIC", "GREEK", "ARMENIAN", "CHEROKEE"}) > 1:
        raise Refusal(f"'{name}' holds letters of two alphabets that look alike: type the name again in one of them")
    return name


def same_person(one: str, other: str) -> bool:
    """Whether two names may be of one person.

    >>> [same_person("B. Wren", other) for other in ("b wren", "Wren, B.", "Bob Wren", "Bwren", "B. Wr\u00ebn")]
    [True, True, True, True, True]
    >>> [same_person("Bob Wren", other) for other in ("Bert Wren", "R. Tern", "Bob Tern")]
    [False, False, False]
    """
    first, second = _words(one), _words(other)
    if not first or not second or "".join(first) == "".join(second):
        return True
    longest = max(first, key=len)
    if longest != max(second, key=len) and longest not in second:
        return False
    rest, others = [w for w in first if w != longest], [w for w in second if w != longest]
    if not rest or not others:
        return True
    return any(a.startswith(b) or b.startswith(a) for a in rest for b in others)


def is_one_of(who: str, others: Iterable[str]) -> bool:
    """Whether a name may be that of one of these people."""
    return any(same_person(who, other) for other in others)


def _words(name: str) -> list[str]:
    """The words of a name without accents, titles in brackets and capitals; of letters alone."""
    bare = unicodedata.normalize("NFKD", re.sub(r"[(\[].*?[)\]]", " ", name))
    bare = "".join(c for c in bare if not unicodedata.combining(c)).casefold()
    return re.findall(r"[^\W_]+", bare)
