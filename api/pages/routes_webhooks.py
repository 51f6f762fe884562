"""The pages about other programs that are told of events."""

from django.urls import path

from api.pages import webhooks

WEBHOOKS = [
    path("sites/<uuid:site>/webhooks", webhooks.webhooks, name="webhooks"),
    path("sites/<uuid:site>/webhooks/another", webhooks.add, name="add-webhook"),
    path("webhooks/<uuid:uid>", webhooks.webhook, name="webhook"),
    path("webhooks/<uuid:uid>/events", webhooks.change, name="change-webhook"),
    path("webhooks/<uuid:uid>/secret", webhooks.renew, name="renew-webhook-secret"),
    path("webhooks/<uuid:uid>/since", webhooks.since, name="send-webhook-since"),
    path("webhooks/<uuid:uid>/test", webhooks.test, name="test-webhook"),
    path("webhooks/<uuid:uid>/end", webhooks.end, name="end-webhook"),
    path("webhooks/<uuid:uid>/resumption", webhooks.resume, name="resume-webhook"),
    path("webhooks/<uuid:uid>/removal", webhooks.remove, name="remove-webhook"),
    path(
        "webhooks/<uuid:uid>/deliveries/<int:no>/again",
        webhooks.again,
        name="send-webhook-again",
    ),
]
