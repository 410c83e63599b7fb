"""A joint that leaves a member thinner than it was said to be is told; a socket in round work is none."""

from __future__ import annotations

from plangen.facts import check_text

STRETCHER = """
title: A stretcher socketed where it is thickest
units: mm
stock: {ash: {ask for: 30 x 30 ash, species: ash, thickness: 30, width: 30}}
members:
  stretcher: {stock: ash, turned: [[0, 18], [150, 26], [300, 18]], place: {from: [-150, 0, 100], to: [150, 0, 100]}}
  long one: {stock: ash, turned: [[0, 18], [300, 18]], place: {from: [0, 0, 100], to: [0, 300, 100]}}
joints:
  - {round tenon: [long one, stretcher], diameter: 13, length: 10}
"""


def test_a_socket_in_the_thickest_ring_of_a_stretcher_makes_it_no_thinner() -> None:
    findings = check_text(STRETCHER, "stretcher.yaml")
    assert not [f for f in findings if f.level == "error"]
    assert not [f for f in findings if f.rule == "worked away"]
