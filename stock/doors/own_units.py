"""In which units and language somebody reads. Theirs alone, so it is no fact and has no key."""

from collections.abc import Mapping

from protocols.units import PERSONAL
from stock.models import Person
from stock.refusals import Refused, refuse


def choose_units(person: Person, *, units: Mapping[str, str]) -> dict[str, str]:
    """Read in these units from now on; what is left out is read as it is kept.

    Nothing on record changes. Refuses a sort or unit that nobody may choose, at its field.
    """
    wrong = [
        refuse(
            "unreadable",
            f"Choose one of {', '.join(PERSONAL.get(sort, PERSONAL))}.",
            pointer=f"/{sort}",
        )
        for sort, name in units.items()
        if name not in PERSONAL.get(sort, ())
    ]
    if wrong:
        raise Refused(*wrong)
    Person.objects.filter(uid=person.uid).update(units=dict(units))
    return dict(units)


def choose_language(person: Person, *, language: str) -> None:
    """Read pages in this language from now on; the empty text: as the browser asks for.

    Refuses nothing: a language that is not offered (any more) reads as the browser's.
    """
    Person.objects.filter(uid=person.uid).update(language=language)
