"""Packing lists that tests send, and what they read of answers."""

NINE = "2027-01-05T09:00:00+01:00"

PLAIN = """\
AWB,Box,Species,Qty,Price
999-1,1,Gramma loreto,15,2.10
999-1,2,Chromis viridis,5,0.65
"""
DATES = """\
Box,Species,Qty,Arrival
1,Gramma loreto,5,03/04/2027
1,Chromis viridis,5,04/04/2027
"""
LATER = PLAIN.replace("2,Chromis viridis,5", "2,Chromis viridis,4") + "999-1,3,Goby,3,1.00\n"


def line_of(consignment):
    return consignment["lines"][0]["uid"]


def numbers(thing):
    names = ("listed", "received", "doa", "placed", "left", "short", "over")
    return {name: thing[name] for name in names}


def apply(walk, listing, **body):
    return walk.post(f"imports/{listing['uid']}/applications", body)["consignment"]


def printed(consignment):
    return [(line["box"], line["text"], line["listed"]) for line in consignment["lines"]]
