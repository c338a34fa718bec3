"""Names of persons, places and vessels, for reading ids aloud."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from goldroom.custody.records import Person, Place, Vessel
from goldroom.reports import rows


@dataclass(frozen=True)
class Names:
    """What people call persons, places and vessels, by id."""

    persons: Mapping[str, str]
    places: Mapping[str, str]
    vessels: Mapping[str, str]

    def person(self, person: str) -> str:
        """Return a person's name, or the id if nobody is enrolled by it."""
        return self.persons.get(person, person)

    def people(self, persons: Iterable[str]) -> str:
        """Return the persons' names, in their order: "Amara Venn and Leith Orban"."""
        named = [self.person(each) for each in persons]
        if len(named) < 2:
            return "".join(named)
        return f"{', '.join(named[:-1])} and {named[-1]}"

    def place(self, place: str) -> str:
        """Return a place's name, or its id."""
        return self.places.get(place, place)

    def vessel(self, vessel: str) -> str:
        """Return a vessel's name, or its id."""
        return self.vessels.get(vessel, vessel)


def names(ledger_id: int) -> Names:
    """Return the names known in a ledger now."""
    found = rows.all_of(ledger_id, Person, Place, Vessel)
    return Names(
        persons={each.person: each.name for each in found if isinstance(each, Person)},
        places={each.place_id: each.name for each in found if isinstance(each, Place)},
        vessels={each.vessel: each.name for each in found if isinstance(each, Vessel)},
    )
