"""Every page for people who work here."""

from django.urls import path

from api.pages import (
    batch,
    call_settings,
    carrying,
    certifiable,
    closing,
    contact,
    delivered,
    delivering,
    fallow,
    fitting,
    giving,
    history,
    holding,
    importing,
    kit,
    labels,
    late,
    make,
    mixing,
    mixing_forms,
    moving,
    moving_begun,
    moving_emergency,
    own_calls,
    own_units,
    placing,
    probes,
    protocols,
    question,
    questions,
    reading,
    reckon,
    room,
    scanning,
    setting_up,
    settling,
    shift,
    splitting,
    telling,
    touched,
    touching,
    treating,
    unpacking,
)
from api.pages.routes_people import PEOPLE
from protocols.water import QUANTITIES

SITES = [
    path("sites/<uuid:site>/shift", shift.shift, name="shift"),
    path("sites/<uuid:site>/shift/rooms/<uuid:room>", shift.shift, name="shift-room"),
    path("sites/<uuid:site>/room", room.room, name="room"),
    path("sites/<uuid:site>/unpacking", unpacking.unpacking, name="unpacking"),
    path("sites/<uuid:site>/late-entries", late.late, name="late-entries"),
    path("sites/<uuid:site>/kits", kit.kits, name="kits"),
    path("sites/<uuid:site>/calls", own_calls.calls, name="calls"),
    path("sites/<uuid:site>/calls/read", own_calls.read, name="read-calls"),
    path("sites/<uuid:site>/calendar", own_calls.make, name="make-calendar"),
    path("sites/<uuid:site>/calendar/end", own_calls.end, name="end-calendar"),
    path("sites/<uuid:site>/addresses", own_calls.add, name="add-address"),
    path("sites/<uuid:site>/addresses/<uuid:uid>/test", own_calls.test, name="test-address"),
    path(
        "sites/<uuid:site>/addresses/<uuid:uid>/removal",
        own_calls.remove,
        name="remove-address",
    ),
    path("sites/<uuid:site>/probes", probes.probes, name="probes"),
    path("sites/<uuid:site>/probe-values", probes.send_values, name="send-probe-values"),
    path("sites/<uuid:site>/rooms/closing", closing.close_rooms, name="close-rooms"),
    path("sites/<uuid:site>/call-settings", call_settings.call_settings, name="call-settings"),
    path("rooms/<uuid:uid>/closing", closing.close, name="close-room"),
    path("rooms/<uuid:uid>/opening", closing.open_again, name="open-room"),
    path("sites/<uuid:site>/disinfection", treating.disinfection, name="disinfect"),
    path("sites/<uuid:site>/dry-sighting", treating.dry, name="see-dry"),
    path("sites/<uuid:site>/wet-finding", treating.wet, name="find-wet"),
    path("sites/<uuid:site>/fitting", fitting.fit, name="fit-piece"),
    path("sites/<uuid:site>/defect", fitting.broken, name="mark-defective"),
    path("sites/<uuid:site>/contact", touching.contact, name="tell-contact"),
    path("sites/<uuid:site>/round", touching.round_of, name="make-round"),
    path("sites/<uuid:site>/touched", touched.touched, name="touched"),
    path("sites/<uuid:site>/mixing-room", mixing.mixing_room, name="mixing"),
    path("sites/<uuid:site>/make", mixing_forms.tell_make, name="tell-make"),
    path("sites/<uuid:site>/fill", mixing_forms.tell_fill, name="tell-fill"),
    path("sites/<uuid:site>/salt", mixing_forms.tell_salt, name="tell-salt"),
    path("sites/<uuid:site>/questions", questions.questions, name="questions"),
    path("sites/<uuid:site>/protocols", protocols.protocols, name="protocols"),
    path("sites/<uuid:site>/protocols/<str:key>", protocols.protocol, name="protocol"),
    path(
        "sites/<uuid:site>/protocols/<str:key>/new-version",
        protocols.new_version,
        name="new-version",
    ),
    path("sites/<uuid:site>/certifiable", certifiable.certifiable, name="certifiable"),
    path("sites/<uuid:site>/set-up", setting_up.set_up, name="set-up"),
    *(
        path(
            f"sites/<uuid:site>/set-up/{what}",
            setting_up.set_up_one,
            {"what": what},
            name=f"set-up-{what}",
        )
        for what in setting_up.KINDS
    ),
    path("sites/<uuid:site>/mixing-room/reckon", reckon.reckonings, name="reckon"),
    *(
        path(
            f"sites/<uuid:site>/mixing-room/reckon/{name}",
            reckon.reckon,
            {"name": name},
            name=f"reckon-{name}",
        )
        for name in QUANTITIES
    ),
    path("sites/<uuid:site>/labels", labels.choose_labels, name="labels"),
    path("sites/<uuid:site>/scan", scanning.scan, name="scan"),
    path("sites/<uuid:site>/units", own_units.own_units, name="units"),
    path("sites/<uuid:site>/record-book", history.record_book, name="record-book"),
]
INTAKE = [
    path("sites/<uuid:site>/packing-lists", importing.send_list, name="send-list"),
    path("sites/<uuid:site>/small-delivery", delivering.small_delivery, name="small-delivery"),
    path("packing-lists/<uuid:uid>", importing.preview, name="import"),
    path("packing-lists/<uuid:uid>/answers", importing.answer, name="answer-import"),
    path("packing-lists/<uuid:uid>/application", importing.apply, name="apply-import"),
    path("consignments/<uuid:uid>", unpacking.consignment, name="consignment"),
    path("consignments/<uuid:uid>/delivery", unpacking.deliver, name="deliver"),
    path("consignments/<uuid:uid>/placing", placing.place, name="place"),
    path("lines/<uuid:uid>/count", unpacking.count, name="count-line"),
]
BATCHES = [
    path("batches/<uuid:uid>", batch.batch, name="batch"),
    path("batches/<uuid:uid>/history", history.batch_history, name="history"),
    path("batches/<uuid:uid>/move", moving.move, name="move"),
    path("batches/<uuid:uid>/begun-move", moving_begun.begun, name="begun-move"),
    path("batches/<uuid:uid>/move-check", moving_begun.check, name="move-check"),
    path(
        "batches/<uuid:uid>/emergency-move",
        moving_emergency.emergency_move,
        name="emergency-move",
    ),
    path("batches/<uuid:uid>/late-move", moving.late_move, name="late-move"),
    path("batches/<uuid:uid>/split", splitting.split, name="split"),
    path("batches/<uuid:uid>/join", splitting.join, name="join"),
    path("batches/<uuid:uid>/water", make.water_of_batch, name="batch-water"),
    path("batches/<uuid:uid>/where-from", splitting.where_from, name="where-from"),
    path("batches/<uuid:uid>/loss", telling.loss, name="loss"),
    path("batches/<uuid:uid>/count", telling.count, name="count-batch"),
    path("batches/<uuid:uid>/sign", telling.sign, name="sign"),
    path("batches/<uuid:uid>/exposures", touched.exposures, name="exposures"),
    path("batches/<uuid:uid>/treatments", giving.treatments, name="treatments"),
    path("batches/<uuid:uid>/hold", holding.hold, name="hold"),
    path("batches/<uuid:uid>/certificate", certifiable.check, name="certificate-check"),
    path("holds/<uuid:uid>/lifting", holding.lift, name="lift-hold"),
    path("missing/<uuid:uid>/finding", holding.found, name="found"),
    path("missing/<uuid:uid>/presumption", holding.presume, name="presume-lost"),
]
WORK = [
    path("tasks/<uuid:uid>/taker", shift.take, name="take"),
    path("tasks/<uuid:uid>/completion", shift.complete, name="complete"),
    path("tasks/<uuid:uid>/hand-back", shift.hand_back, name="hand-back"),
]
EQUIPMENT = [
    path("systems/<uuid:uid>/fallow", fallow.fallow, name="fallow"),
    path("kits/<uuid:uid>", kit.kit, name="kit"),
    path("makes/<uuid:uid>", make.make, name="make"),
    path("makes/<uuid:uid>/check", mixing_forms.measure_make, name="check-make"),
    path("containers/<uuid:uid>", kit.container, name="container"),
    path("containers/<uuid:uid>/dose", giving.choose, name="give"),
    path("containers/<uuid:uid>/dose/<str:key>", giving.give, name="give-one"),
    path("containers/<uuid:uid>/neighbours", touched.neighbours, name="neighbours"),
    path("containers/<uuid:uid>/incident", touching.incident, name="incident"),
    path("containers/<uuid:uid>/reading", reading.read_water, name="read-water"),
]
DECISIONS = [
    path("batches/<uuid:uid>/carry-over", carrying.carry_over, name="carry-over"),
    path("questions/<uuid:uid>", question.question, name="question"),
    path("questions/<uuid:uid>/account", question.choose_account, name="choose-account"),
    path("questions/<uuid:uid>/confirmation", question.confirm, name="confirm-question"),
    path("questions/<uuid:uid>/withdrawal", question.withdraw, name="withdraw-question"),
    path("reports/<uuid:uid>/confirmation", delivered.confirm, name="confirm-brought"),
    path("reports/<uuid:uid>/settlement", settling.settle, name="settle"),
    *(
        path(
            f"certificates/<uuid:uid>/{name}",
            certifiable.step,
            {"name": name},
            name=f"certificate-{name}",
        )
        for name in certifiable.STEPS
    ),
]
ENTRIES = [
    path("tablet/contact", contact.contact, name="contact"),
    path("tablet/reports", contact.reports, name="tablet-reports"),
    path("tablet/entries/<int:no>/given-up", contact.given_up, name="give-up-entry"),
]

urlpatterns = [*ENTRIES, *PEOPLE, *SITES, *INTAKE, *BATCHES, *WORK, *EQUIPMENT, *DECISIONS]
