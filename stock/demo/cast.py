"""Who and what the demo is about. All of it is invented."""

from dataclasses import dataclass

ORGANISATION = "Kelpgarth Marine"
HALL = ("Kelpgarth hall", "Europe/Lisbon")
SHOP = ("Kelpgarth shop", "America/New_York")
PEOPLE = (
    ("Mara", "mara@kelpgarth.example", "manager"),
    ("Ola", "ola@kelpgarth.example", "keeper"),
    ("Teun", "teun@kelpgarth.example", "keeper"),
    ("Ines", "ines@kelpgarth.example", "veterinarian"),
    ("Pell", "pell@kelpgarth.example", "auditor"),
)
SUPPLIERS = ("Lautan Contoh", "Ejemplo del Golfo", "Sample Atoll")


@dataclass(frozen=True, slots=True)
class Animal:
    """A species of the demo: how it is called, and the mass of one in grams (planned)."""

    scientific_name: str
    trade_name: str
    aphia_id: int | None
    grams: float


# Mass from length by W = a L^b with planning values of the family, at the size bought.
ANIMALS = {
    "ocellaris": Animal("Amphiprion ocellaris", "Ocellaris clownfish", 278400, 1.5),
    "anthias": Animal("Pseudanthias squamipinnis", "Lyretail anthias", None, 1.9),
    "chromis": Animal("Chromis viridis", "Blue-green chromis", None, 1.1),
    "orchid": Animal("Pseudochromis fridmani", "Orchid dottyback", None, 1.8),
    "yellow": Animal("Zebrasoma flavescens", "Yellow tang", None, 5.4),
    "firefish": Animal("Nemateleotris magnifica", "Firefish", None, 1.3),
    "coral": Animal("Centropyge bispinosa", "Coral beauty", None, 6.0),
}

# Litres to the fill mark and inside metres of the containers, by the racks they stand on.
SIZES = (
    ("60", {"length": "0.60", "width": "0.40", "height": "0.34"}),
    ("120", {"length": "0.80", "width": "0.50", "height": "0.40"}),
    ("200", {"length": "1.00", "width": "0.60", "height": "0.46"}),
)
KIT_NEEDS = ("heater", "thermometer", "air_line", "air_stone", "shelter", "lid")
HOURS = [
    *({"day": day, "from": "07:00", "to": "20:00"} for day in range(6)),
    {"day": 6, "from": "08:00", "to": "14:00"},
]
# Rule of thumb for unfiltered containers, fed: grams of fish per litre.
GRAMS_PER_LITRE = 0.3
