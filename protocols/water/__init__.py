"""The chemistry of water: every quantity as a function, and what is shown with its answer.

Functions take keyword arguments with their units in the names, refuse what is out of domain
with `OutOfDomain`, and give a float; density, conductivity, salinity, ammonia and oxygen take
arrays as well. `answer_with_flags` gives the value and what has to be said with it.
"""

from typing import Any

from protocols.water.accumulation import (
    nh3_n_after_hours_mg_l,
    tan_accumulated_mg_l,
    tan_after_water_change_mg_l,
)
from protocols.water.ammonia import (
    ammonia_unit_convert,
    nh3_fraction,
    nh3_n_mg_l,
    pka_ammonium_total,
)
from protocols.water.containers import container_volume_l, fill_height_cm, topoff_volume_l
from protocols.water.disinfection import (
    acetic_acid_mol_l,
    acid_dilution_ml,
    contact_time_min,
    ct_mg_min_l,
    hypochlorite_volume_ml,
    thiosulfate_mass_g,
)
from protocols.water.dosing import (
    active_fraction,
    dose_mass_g,
    formalin_volume_ml,
    liquid_dose_ml,
    ppm_mass_to_mg_l,
    volume_to_litres,
)
from protocols.water.instruments import (
    salinity_from_hydrometer,
    salinity_from_nacl_refractometer,
)
from protocols.water.mixing import (
    salinity_after_evaporation,
    salinity_after_mix,
    salt_mass_g,
    salt_to_raise_g,
    water_to_lower_l,
)
from protocols.water.oxygen import (
    o2_percent_saturation,
    o2_saturation_mg_l,
    pressure_from_altitude_hpa,
)
from protocols.water.quantity import QUANTITIES, Answer, Argument, Flag, Quantity
from protocols.water.refused import Fault, OutOfDomain
from protocols.water.seawater import (
    conductivity_ms_cm,
    density_kg_m3,
    refractive_index,
    salinity_from_conductivity,
    salinity_from_sg,
    specific_gravity,
)


def answer_with_flags(name: str, **given: Any) -> Answer:
    """One quantity by its name: value, unit, flags. Raises OutOfDomain."""
    return QUANTITIES[name].answer_with_flags(given)


__all__ = [
    "QUANTITIES",
    "Answer",
    "Argument",
    "Fault",
    "Flag",
    "OutOfDomain",
    "Quantity",
    "acetic_acid_mol_l",
    "acid_dilution_ml",
    "active_fraction",
    "ammonia_unit_convert",
    "answer_with_flags",
    "conductivity_ms_cm",
    "contact_time_min",
    "container_volume_l",
    "ct_mg_min_l",
    "density_kg_m3",
    "dose_mass_g",
    "fill_height_cm",
    "formalin_volume_ml",
    "hypochlorite_volume_ml",
    "liquid_dose_ml",
    "nh3_fraction",
    "nh3_n_after_hours_mg_l",
    "nh3_n_mg_l",
    "o2_percent_saturation",
    "o2_saturation_mg_l",
    "pka_ammonium_total",
    "ppm_mass_to_mg_l",
    "pressure_from_altitude_hpa",
    "refractive_index",
    "salinity_after_evaporation",
    "salinity_after_mix",
    "salinity_from_conductivity",
    "salinity_from_hydrometer",
    "salinity_from_nacl_refractometer",
    "salinity_from_sg",
    "salt_mass_g",
    "salt_to_raise_g",
    "specific_gravity",
    "tan_accumulated_mg_l",
    "tan_after_water_change_mg_l",
    "thiosulfate_mass_g",
    "topoff_volume_l",
    "volume_to_litres",
    "water_to_lower_l",
]
