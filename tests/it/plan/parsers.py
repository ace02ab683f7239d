"""Entries of an iCalendar file as three readers see them: a JSON list for each."""

import datetime
import json
import sys

import ics
import icalendar
import vobject

with open(sys.argv[1], "rb") as file:
    raw = file.read()
text = raw.decode("utf-8")


def utc(moment):
    if isinstance(moment, datetime.datetime):
        return moment.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")
    return moment.isoformat()


def row(uid, sequence, status, start, end, summary, description):
    return [uid, int(sequence), status, utc(start), utc(end), summary, description]


by_icalendar = [
    row(
        str(e["UID"]),
        e["SEQUENCE"],
        str(e["STATUS"]),
        e["DTSTART"].dt,
        e["DTEND"].dt,
        str(e["SUMMARY"]),
        str(e["DESCRIPTION"]),
    )
    for e in icalendar.Calendar.from_ical(raw).walk("VEVENT")
]
by_vobject = [
    row(
        e.uid.value,
        e.sequence.value,
        e.status.value,
        e.dtstart.value,
        e.dtend.value,
        e.summary.value,
        e.description.value,
    )
    for e in vobject.readOne(text).vevent_list
]


def sequence(event):
    return next(line.value for line in event.extra if line.name == "SEQUENCE")


by_ics = sorted(
    row(
        e.uid,
        sequence(e),
        e.status,
        e.begin.datetime,
        e.end.datetime,
        e.name,
        e.description,
    )
    for e in ics.Calendar(text).events
)
print(json.dumps({"icalendar": by_icalendar, "vobject": by_vobject, "ics": by_ics}))
