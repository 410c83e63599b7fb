"""Advice where a joint lies outside a rule of thumb: a warning that says the rule and where it was read."""

from __future__ import annotations

from plangen.findings import Finding, Place, warning
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import NO_MOST, Rule


def outside(rule: Rule, share: float, what: str, place: Place, *members: str) -> tuple[Finding, ...]:
    """A warning where ``share`` lies outside the rule; nothing where it is sound.

    ``what`` is the joint and its part, such as ``mortise and tenon: the tenon's thickness``.
    """
    if rule.least - 1e-6 <= share <= rule.most + 1e-6:
        return ()
    sound = _range(rule, f"{rule.least:.2f}", f"{rule.most:.2f}")
    text = f"{what} is {share:.2f} of {rule.of}; the rule of thumb is {sound} ({rule.source})"
    return (warning(place, "rule of thumb", text, *members),)


def _range(rule: Rule, least: str, most: str) -> str:
    if rule.most >= NO_MOST:
        return f"at least {least}"
    return f"at most {most}" if rule.least <= 0 else f"{least} to {most}"


def length_outside(
    rule: Rule, mm: float, what: str, sizing: Sizing, place: Place, *members: str
) -> tuple[Finding, ...]:
    """The same for a rule in millimetres, told in the design's unit."""
    if rule.least - 1e-6 <= mm <= rule.most + 1e-6:
        return ()
    sound = _range(rule, sizing.said(rule.least), sizing.said(rule.most))
    text = f"{what} is {sizing.said(mm)}; the rule of thumb is {sound} ({rule.source})"
    return (warning(place, "rule of thumb", text, *members),)
