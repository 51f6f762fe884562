"""Addresses of feeds."""

from django.urls import URLPattern, path

from api.feeds.calendar import calendar

urlpatterns: list[URLPattern] = [path("calendar/<str:token>.ics", calendar, name="calendar")]
