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
from stock.models.buyers import BuyerAddress
from stock.models.calls import CalendarAddress, Call, CallItem, OwnAddress, Sending
from stock.models.carryover import CarryOver
from stock.models.certificates import Certificate, CertificateEvent, CertificateText
from stock.models.counts import Balance, Loss, Missing, Transfer
from stock.models.devices import DeviceReport, EntryOfDevice
from stock.models.exports import Export
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
    ProbeSeen,
    Upkeep,
    WaterReading,
)
from stock.models.leaving import Dispatch
from stock.models.mixing import Bleach, Draw, Make, MakeCheck, SaltLot, SaltStock
from stock.models.paper import PaperSheet
from stock.models.people import (
    Attempt,
    Device,
    DeviceToken,
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
    RoomClosure,
    RulesVersion,
    Shift,
    SiteThing,
    System,
)
from stock.models.protocols import MadeProtocol
from stock.models.questions import DeviationRow, HoldRow, Sign
from stock.models.retention import LegalHoldRow
from stock.models.sealed import Checkpoint, KeptSubtree
from stock.models.traces import Trace, TraceDecision
from stock.models.visits import Visit, VisitPage
from stock.models.webhooks import Webhook, WebhookDelivery, WebhookEvent
from stock.models.work import Handover, HandoverReading, Task

__all__ = [
    "NEVER_JOINED",
    "Answer",
    "Attempt",
    "Balance",
    "Batch",
    "BegunMove",
    "Bleach",
    "BuyerAddress",
    "CalendarAddress",
    "Call",
    "CallItem",
    "CarryOver",
    "Certificate",
    "CertificateEvent",
    "CertificateText",
    "Checkpoint",
    "ClockMoment",
    "Consignment",
    "Container",
    "DeviationRow",
    "Device",
    "DeviceReport",
    "DeviceToken",
    "Dispatch",
    "Draw",
    "EntryOfDevice",
    "Export",
    "Fact",
    "FactSubject",
    "FactText",
    "Handover",
    "HandoverReading",
    "HoldRow",
    "HoursVersion",
    "Import",
    "Instrument",
    "InstrumentCheck",
    "KeptSubtree",
    "Kin",
    "Kit",
    "LegalHoldRow",
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
    "OwnAddress",
    "PaperSheet",
    "Parked",
    "Person",
    "Piece",
    "ProbeSeen",
    "Projection",
    "Rack",
    "RecoveryCode",
    "Reliance",
    "Role",
    "Room",
    "RoomClosure",
    "RulesVersion",
    "SaltLot",
    "SaltStock",
    "Sending",
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
    "Trace",
    "TraceDecision",
    "Transfer",
    "Upkeep",
    "Visit",
    "VisitPage",
    "WaterReading",
    "Webhook",
    "WebhookDelivery",
    "WebhookEvent",
    "writing_projections",
]
