"""Reads a calendar with the library `icalendar`, and says what a calendar program sees in a zone.

Usage: read_calendar.py ZONE < calendar.ics
One line an event: identifier, day or local time with its offset, sequence, summary, description.
"""
import datetime
import json
import sys
import zoneinfo

import icalendar

zone = zoneinfo.ZoneInfo(sys.argv[1])
calendar = icalendar.Calendar.from_ical(sys.stdin.buffer.read())
assert str(calendar["VERSION"]) == "2.0" and calendar["PRODID"]
for event in calendar.walk("VEVENT"):
    begin = event["DTSTART"].dt
    if isinstance(begin, datetime.datetime):
        begin = begin.astimezone(zone)
    assert event["DTSTAMP"].dt.tzinfo is not None
    for alarm in event.walk("VALARM"):
        assert alarm["TRIGGER"].dt < datetime.timedelta(0)
    texts = [str(event[name]) for name in ("UID", "SUMMARY", "DESCRIPTION")]
    print(json.dumps([texts[0], begin.isoformat(), int(event["SEQUENCE"]), *texts[1:]]))
