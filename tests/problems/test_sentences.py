"""Every sentence of the catalogue says what to do next, in words that need no explaining."""

from __future__ import annotations

import re

from estimator.core.catalogue import CATALOGUE

# What a reader can be asked to do; a sentence holds one of them at the beginning of a clause.
WORDS = """
add ask change check choose clear close compare copy correct delete do export fill find format get give go have
hook install keep leave look make mark measure mend move name open pass price put raise read rename report save say
see set sign start stop take tape try type unmerge unpack use write"""
VERBS = frozenset(WORDS.split())
NOTHING = "nothing is to be done"
CLAUSE = re.compile(
    r"(?:^|(?<=[.;:,?(] )|(?<=… )(?=[A-Z])|(?<=\bor )|(?<=\band )|(?<=\bthen )|(?<=\bso ))([A-Za-z]+)\b"
)


def instructions(text: str) -> set[str]:
    """The verbs of a sentence that ask for something.

    Nothing that is filled in counts, nor a verb in the midst of a clause.
    """
    plain = re.sub(r"\{\w+\}", "…", text)
    return {word.casefold() for word in CLAUSE.findall(plain)} & VERBS


def test_only_the_beginning_of_a_clause_asks_for_something() -> None:
    assert instructions("'{column}' is blank; write it.") == {"write"}
    assert instructions("Nobody can write or save it.") == {"save"}
    assert instructions("'{column}' is what people write.") == set()
    assert instructions("{ask}") == instructions("{cells} ask for two values.") == set()
    assert instructions("It rests on that.{rise} Have it in writing.") == {"have"}


def test_every_sentence_says_what_to_do() -> None:
    lacking = {code: text for code, (_, text) in CATALOGUE.items() if not instructions(text) and NOTHING not in text}
    assert lacking == {}


def test_an_error_always_asks_for_something() -> None:
    assert [code for code, (level, text) in CATALOGUE.items() if NOTHING in text and level == "error"] == []
