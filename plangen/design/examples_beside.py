"""Examples of every key of what may stand in a file beside a design: a workshop, how templates are made."""

from __future__ import annotations

from plangen.design import shop as s
from plangen.design import template_settings as t
from plangen.design import yard as y
from plangen.design.records import Entry

BESIDE_EXAMPLES: dict[type[Entry], str] = {
    s.Workshop: """
        name: Thistle Lane Garden Workshop
        mitre saw: {deepest: 90 mm, widest: 300 mm}
        table saw: {tilts: right, rip: 24}
        trenching head: {narrowest: 1/4, widest: 13/16}
        router: {straight bits: [1/4, 1/2]}
        bandsaw: yes
        jointer: {widest: 6}
        drill press: {drills: [1/4, 3/8, 1/2]}
        lathe: {swing: 12}
        vise: yes
    """,
    s.MitreSaw: """
        mitre: 50 deg
        tilts: left
        bevel: 45 deg
        deepest: 90 mm
        deepest at 45: 45 mm
        widest: 300 mm
        shortest: 200 mm
        kerf: 2.6 mm
        blade: 254 mm
    """,
    s.TableSaw: """
        mitre: 60 deg
        tilts: right
        bevel: 45 deg
        deepest: 3 1/8
        deepest at 45: 2 1/8
        rip: 30
        shortest: 12
        kerf: 1/8
        blade: 10
    """,
    s.TrenchingHead: """
        narrowest: 1/4
        widest: 13/16
        deepest: 2
        diameter: 8
        shortest: 12
    """,
    s.Router: """
        deepest: 2 1/4
        straight bits: [1/4, 1/2, 3/4]
        round over bits: [1/8, 1/4, 3/8]
    """,
    s.Bandsaw: """
        deepest: 6
        throat: 13 1/2
        kerf: 1 mm
        table tilts: 45 deg
    """,
    s.Jointer: """
        widest: 6
        fence tilts: 45 deg
        deepest: 1/8
        shortest: 12
    """,
    s.DrillPress: """
        stroke: 3 1/4
        table tilts: 45 deg
        drills: [1/8, 1/4, 3/8, 1/2]
    """,
    s.Lathe: """
        swing: 12
        between centres: 36
    """,
    t.Templates: """
        version: R12
        unit: in
        curves: lines and arcs
        circles: polylines
        within: 0.02 mm
        origin: middle
        cutter: 6 mm
        compensated: yes
        inside corners: T-bone
        fit: {fingers: 0.1 mm}
        tabs: {width: 8 mm, height: 3 mm}
        lead in: 5 mm
        hold down: {diameter: 4 mm}
        measured: [{stock: 9 mm birch plywood, thickness: 8.7 mm}]
        nested: {spacing: 8 mm}
        fitted ends: left long
        layers: {pocket: "P{depth}"}
        on paper: {paper: letter}
    """,
    t.CutLayers: """
        through outside: {name: OUTLINE, colour: 1}
        through inside: INSIDE
        pocket: "POCKET_{depth}"
        bore: "BORE_{diameter}_{depth}"
        score: SCORE
        mark: {colour: 3}
        face outline: FACE
        back outline: BACK
        tabs: BRIDGES
        lead in: LEADS
        hold down: SCREWS
        keep out: CLEAR
        sheet: WHOLE
    """,
    t.CutLayer: """
        name: "POCKET_{depth}"
        colour: 5
    """,
    t.Tabs: """
        width: 8 mm
        height: 3 mm
        spacing: 250 mm
        left as: gaps
    """,
    t.HoldDown: """
        diameter: 4 mm
        keep out: 12 mm
        spacing: 300 mm
    """,
    t.FitPlay: """
        fingers: 0.1 mm
        housings: 0.2 mm
        tenons: 0.2 mm
    """,
    t.Nesting: """
        spacing: 8 mm
        margin: 12 mm
    """,
    t.MeasuredSheet: """
        stock: 9 mm birch plywood
        thickness: 8.7 mm
    """,
    t.PaperTemplates: """
        paper: A4
        roll: 24
        overlap: 10 mm
        blank edge: 10 mm
        stretch: [1.002, 1]
    """,
    y.YardList: """
        name: Mill Lane Timber
        currency: EUR
        sells: [{stock: 45 x 95 mm larch, lengths: [2400 mm, 3600 mm], price: 4.20, per: metre}]
        in shop: [{stock: 45 x 95 mm larch, length: 1350 mm}]
    """,
    y.Sale: """
        stock: 45 x 95 mm larch
        lengths: [2400 mm, 3000 mm, 3600 mm]
        widths: [120 mm, 150 mm]
        sheet: [2440 mm, 1220 mm]
        price: 4.20
        per: metre
        count: 12
        measured: 8.8 mm
        instead of: 45 x 95 mm douglas fir
    """,
    y.InShop: """
        stock: 45 x 95 mm larch
        length: 1350 mm
        sheet: [900 mm, 610 mm]
        count: 2
        knots: [[310 mm, 360 mm]]
        spoilt: [[0, 0, 80 mm, 60 mm]]
    """,
    y.Roughing: """
        length: 1
        width: 1/4
        thickness: 3/16
        glued: 1/8
        turning: 1/4
        scrap: 12
        ends: 2
        kerf: 1/8
        spare: 5
        over: 25
    """,
    y.Coat: """
        finish: linseed oil
        coats: 3
        covers: 450
    """,
    y.Climate: """
        driest: 35
        dampest: 75
        temperature: 18
    """,
}
