"""The page that a tank is drilled by, and its DXF.

`analysis/tank/drill.py` makes the list (`model/found/drill.py`): of both ends of each axis the one with more flat wall is
measured from; an
end of which less than a tenth is flat is called by its last point, since no rule can be hooked on it. A fitting goes through a side
where the design says so (`through`) or where its skin, and no other side's, is within 1 mm; else the sheet says "not stated". A mark
that the check raises stands at its new place, its old one crossed out; one that no rise mends, or whose float has no room there, is
told "DO NOT DRILL".

`report/drill/views.py` (a view in mm of its own corner), `drill_layout.py` (all ways to set out cells, the largest scale that fits;
views with a side under 18 mm get larger ones), `drill_table.py`, `drill_draw.py`, `drill_sections.py` and `drill_sheet.py` make the page.
A fitting is dimensioned in the view that looks at its hole; what stands free, in the plan, with its height beside. Where dimensions of
many fittings would make the views smaller by 1.7, the table alone has them. Shapes drawn with `place` keep an id in the SVG
(`d…-place-plan-3`), by which tests find where something lies. `drill_dxf.py` draws the same views at 1 : 1, and for each side
that is drilled
a template as seen from outside.
"""
