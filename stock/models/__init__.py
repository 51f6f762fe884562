"""All tables, by subject. Which are projections is said by their base class."""

from stock.models.base import Projection, Thing, writing_projections
from stock.models.batches import (
    NEVER_JOINED,
    Batch,
    FactSubject,
    Kin,
    Origin,
    Parked,
    Reliance,
    StayRow,
)
from stock.models.begun import BegunMove
from stock.models.carryover import CarryOver
from stock.models.certificates import Certificate, CertificateEvent, CertificateText
from stock.models.counts import Balance, Loss, Missing, Transfer
from stock.models.devices import DeviceReport, EntryOfDevice
from stock.models.facts import Answer, ClockMoment, Fact, FactText, Log, Notice
from stock.models.intake import (
    Consignment,
    Import,
    Line,
    LineCount,
    Species,
    StoredFile,
    Supplier,
)
from stock.models.kits import (
    Instrument,
    InstrumentCheck,
    Kit,
    Piece,
    Upkeep,
    WaterReading,
)
from stock.models.leaving import Dispatch
from stock.models.mixing import Bleach, Draw, Make, MakeCheck, SaltLot, SaltStock
from stock.models.people import (
    Attempt,
    Device,
    Organisation,
    OutsideSecond,
    Person,
    RecoveryCode,
    Role,
    SetupCode,
    Site,
    Tablet,
    Token,
)
from stock.models.places import (
    Container,
    HoursVersion,
    Rack,
    Room,
    RulesVersion,
    Shift,
    SiteThing,
    System,
)
from stock.models.protocols import MadeProtocol
from stock.models.questions import DeviationRow, HoldRow, Sign
from stock.models.work import Task

__all__ = [
    "NEVER_JOINED",
    "Answer",
    "Attempt",
    "Balance",
    "Batch",
    "BegunMove",
    "Bleach",
    "CarryOver",
    "Certificate",
    "CertificateEvent",
    "CertificateText",
    "ClockMoment",
    "Consignment",
    "Container",
    "DeviationRow",
    "Device",
    "DeviceReport",
    "Dispatch",
    "Draw",
    "EntryOfDevice",
    "Fact",
    "FactSubject",
    "FactText",
    "HoldRow",
    "HoursVersion",
    "Import",
    "Instrument",
    "InstrumentCheck",
    "Kin",
    "Kit",
    "Line",
    "LineCount",
    "Log",
    "Loss",
    "MadeProtocol",
    "Make",
    "MakeCheck",
    "Missing",
    "Notice",
    "Organisation",
    "Origin",
    "OutsideSecond",
    "Parked",
    "Person",
    "Piece",
    "Projection",
    "Rack",
    "RecoveryCode",
    "Reliance",
    "Role",
    "Room",
    "RulesVersion",
    "SaltLot",
    "SaltStock",
    "SetupCode",
    "Shift",
    "Sign",
    "Site",
    "SiteThing",
    "Species",
    "StayRow",
    "StoredFile",
    "Supplier",
    "System",
    "Tablet",
    "Task",
    "Thing",
    "Token",
    "Transfer",
    "Upkeep",
    "WaterReading",
    "writing_projections",
]
