"""Butt: the first stands against the second, nothing is cut. The contact is checked on the finished work."""

from __future__ import annotations

from plangen.design import design as d
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting
from plangen.joinery.sizing import Sizing


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    return Made()
