"""What a seller may add to a certificate: nothing that the record does not bear out.

A record says what was done. It cannot say that an animal is free of something, and it must not
let a sentence say that something was treated which no entry shows. Read in the two languages of
the pages; what is written in another one, a manager answers for like for any other word.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from protocols.ruled import Reason
from protocols.said import said


@dataclass(frozen=True, slots=True)
class Borne:
    """What the record bears out: what its stages are meant for, and what was given."""

    addressed: tuple[str, ...]  # as protocol versions say it
    products: tuple[str, ...]  # as doses and their versions are named


# The word for it here, how people write it, and the word that versions have for it.
AILMENTS: Mapping[str, tuple[str, str]] = {
    "white spot": (r"white ?spot|cryptocaryon|\bich\b|punto blanco", "cryptocaryon"),
    "velvet": (r"velvet|amyloodinium|terciopelo", "velvet"),
    "flukes": (r"fluke|monogene|neobenedenia|trem[aá]todo", "flukes"),
    "brooklynella": (r"brook(?:lynella)?\b", "brooklynella"),
    "uronema": (r"uronema", "uronema"),
    "worms": (r"\bworms?\b|nematod|gusano|lombri", "worms"),
    "bacteria": (r"bacteri|vibrio|mycobact", "bacteria"),
    "viruses": (r"\bvirus|lymphocyst|linfoquist", "viruses"),
}
EVERYTHING = re.compile(r"parasit|par[aá]sit|disease|enfermedad|pathogen|pat[oó]geno", re.I)
PRODUCTS: Mapping[str, str] = {
    "copper": r"copper|\bcobre",
    "praziquantel": r"praziquantel|\bprazi\b",
    "formalin": r"formalin|formaldeh|formol",
    "chloroquine": r"chloroquin|cloroquin",
    "peroxide": r"peroxide|per[oó]xido",
    "freshwater": r"fresh ?water|agua dulce",
    "hyposalinity": r"hypo ?salin|low salinity|hipo ?salin|baja salinidad",
}
PROMISE = re.compile(
    r"\bfree (?:of|from)\b|-free\b|\b(?:disease|parasite|pathogen) free\b|\bguarant|\bcured?\b"
    r"|\beradicat|\bhealthy\b|\bimmun|\bsafe for\b|\blibres? de\b|\bgarant|\bcurad|\berradic"
    r"|\bsan[oa]s?\b|\bsin (?:par[aá]sit|enfermedad|pat[oó]gen)"
    r"|\bno (?:parasites?|diseases?)\b",
    re.I,
)
DENIED = re.compile(
    r"\bnot\b|\bno treatment|\bnever\b|\buntreated\b|\bwithout treatment"
    r"|\bno se\b|\bno fue|\bsin trata|\bnunca\b|\bning[uú]n tratamiento",
    re.I,
)
SENTENCE = re.compile(r"[^.;!?\n]+")


def against_record(text: str, borne: Borne) -> tuple[Reason, ...]:
    """Everything in these words that the record does not bear out; empty if it may be added.

    A sentence that says what was not done is no promise.
    """
    promised, ailments, products = False, set[str](), set[str]()
    for sentence in SENTENCE.findall(text):
        promises = PROMISE.search(sentence) is not None
        promised = promised or promises
        if promises or not DENIED.search(sentence):
            ailments.update(_ailments(sentence))
            products.update(_found(sentence, PRODUCTS))
    return (
        *_promise(promised),
        *_untreated(ailments, borne.addressed),
        *_not_given(products, borne.products),
    )


def _ailments(sentence: str) -> Iterator[str]:
    named = list(_found(sentence, {name: words for name, (words, _) in AILMENTS.items()}))
    yield from named or (AILMENTS if EVERYTHING.search(sentence) else ())


def _found(sentence: str, words: Mapping[str, str]) -> Iterator[str]:
    return (name for name, form in words.items() if re.search(form, sentence, re.I))


def _promise(promised: bool) -> Iterator[Reason]:
    if promised:
        text = (
            "It says what was done. It cannot say that an animal is well or free of something."
        )
        yield Reason("contradicts_record", "promises", text, pointer="/adds")


def _untreated(ailments: Iterable[str], addressed: Iterable[str]) -> Iterator[Reason]:
    known = " ".join(addressed).casefold()
    for name, (_, word) in AILMENTS.items():
        if name in ailments and word not in known:
            text = said("No treatment against {ailment} is recorded.", ailment=name)
            numbers = {"ailment": name}
            yield Reason(
                "contradicts_record", "not_treated", text, numbers=numbers, pointer="/adds"
            )


def _not_given(products: Iterable[str], given: Iterable[str]) -> Iterator[Reason]:
    told = " ".join(given)
    for name, form in PRODUCTS.items():
        if name in products and not re.search(form, told, re.I):
            text = said("No {product} is recorded as given.", product=name)
            numbers = {"product": name}
            yield Reason(
                "contradicts_record", "not_given", text, numbers=numbers, pointer="/adds"
            )
