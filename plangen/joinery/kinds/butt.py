"""Butt: the first stands against the second, nothing is cut. The contact is checked on the finished work."""

from __future__ import annotations

from plangen.design import design as d
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.sizing import Sizing


def cuts(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> tuple[Cut, ...]:
    return ()
