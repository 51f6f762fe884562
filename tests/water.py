"""Water in tests over REST: values as they are typed, an instrument and its checks."""

BEGIN = "2027-01-31T08:00:00+01:00"
LATER = "2027-02-06T08:00:00+01:00"


def make_refractometer(walk):
    """A refractometer that was right when it was checked."""
    body = {
        "label": "R-2",
        "quantities": ["specific_gravity", "salinity"],
        "convention": "25/25",
    }
    made = walk.post(f"sites/{walk.site}/instruments", body)["instrument"]["uid"]
    check(walk, made, "1.0264")
    return made


def check(walk, instrument, got, **more):
    body = {"standard": "35 ppt fluid", "expected": "1.0264", "got": got, **more}
    return walk.post(f"instruments/{instrument}/checks", body)


def read(walk, *values):
    return walk.post("readings", {"readings": list(values)})


def gravity(where, instrument, **more):
    return {
        "container": where,
        "quantity": "specific_gravity",
        "value": "1.024",
        "unit": "1",
        "instrument": instrument,
        **more,
    }


def warmth(where, **more):
    return {
        "container": where,
        "quantity": "temperature",
        "value": "25.60",
        "unit": "Cel",
        **more,
    }
