"""A finished tank filled in measured steps, held against its model.

`fuelsys filltest` holds a finished tank against its model. Fitted is the volume at each reading (`analysis/fills/model.py`), its
difference to the total over the surface's area along the stick: a residual as a length, with one pass over the faces and no
inversion. Figures: scale, stick's offset, pitch, roll, a layer on all that faces up. Each has a usual spread (`fillfit.USUAL`, wide)
that counts as one more reading: so what a stick cannot see (a tilt against an offset in a box) stays bounded, and the covariance
stays finite. All sixteen sets of them are fitted; *enough* is one that no larger one improves (F test, p under 0.01); the simplest is
told, and gives the capacity; others that are enough and fit as well are told beside it. Marks, lamps and residuals come from the
*full* one: what is too small to show still bends the table (another mesh with bodies, a coating, 0.4° of tilt, 8 readings to 1 mm, 40
seeds: drawn 3.4 to 4.4 % of the tank off, kept up to 2 %, full up to 0.7 %; the tilt itself is hardly seen, ± 1° and more). Beyond
the readings it is the other way round: capacity by the full one came out up to 1.4 % too large, by the kept one within 0.6 %. All
get the interval of the full one about them.

The stick may be put in at other places too (`Dipstick.also`): two places tell a tilt along the line between them, three all of it, which
one near the middle does not. Readings of one line share what its total is off by, so that counts once, and their differences
besides (`Data.mixed`); neither kind vouches for the other (`Data.worse`), and a total is suspected by the lines alone. Of 0.4° (10
steps of 5 L, 1 mm, another mesh; 40 seeds): one place is off by 1.2° in pitch and 1.2° in roll (rms), and what it says holds 34 and 39
of 40; two are off by 1.3° and 0.14°; what places do not measure is wider by what another shape makes of it (`solved.py`), since that
makes readings grow as a tilt does: so pitch holds in 95 % with two places (140 tests) and with one (120); three by 0.11° and 0.03°,
within ± 0.5° and 0.3° in 40 of 40, and each answer says it ("smaller by 3.8 %,
tilted by 0.4°"): a tilt that the places measured is no matter of the simplest correction, which put it down to the stick's offset.
A line at another attitude is one more place, with a millimetre that nobody knows for how the aircraft stood; gauges: `gauges.py`.
What is poured before the stick shows any is checked by no reading: `blind.py` asks whether a can less explains them as well.
Before anything is poured `foresee.py` says how near a planned test will come, from its information.

The design names a test (`load/designs/measured.py`: the text keeps its comments; a sheet of another digest is refused), and
`fills/measured.py` fits it anew in each study, so that a changed mesh needs nothing: `Cavity.share` takes the tank's share
(`behind` undoes it for what stays behind or goes unseen: never less than drawn), the stick
its own correction, and a switch's mark counts so much lower that no attitude counts more at its trip than is sure (`assured.py`), or
than was measured there. Before, a trip was counted too full in 37 of 100 such tanks. `Unusable.least_m3` keeps unusable fuel from
falling for a test.

Lines that do not belong (`fillsuspects.py`): each reading alone, and each total from its line on, is an unknown volume more in the
full correction, whose gain is exact where the model is linear; the three best are fitted, and the best is named where chance
would do so on three sheets of a hundred. `fillmeanings.py` then says which slip would make such a difference.

Bands of 90 % hold the truth in 87 to 94 % of 200 tanks that are off as widely as the usual spreads say; in 93 to 97 % (the layer: 99.5) of
tanks that are off half as widely. That is the spreads' doing: with those tanks' own spreads in their place it is 89.5 to 93.5 %. What the
readings tell, what is held at the middle one, is held in 88 to 90.5 % whatever the spreads. They stay wide: how far built tanks are
off nobody has published, one test cannot tell it, too wide is the safe side, and without them (a likelihood's profile alone) a tilt
and an offset in a box have no band at all.

A tank whose twin was measured smaller counts no more than that one (`twins.py`).

Left out of the fit, and told by line: readings where the tank falls into pools, where air is trapped, a dry stick. A reset is judged at the
whole tank's level; where the mark's pool stands apart, it is not computed. Measured, 0.7 mm of noise, 16 to 24 readings, tanks of
`tests/fillsheets.py` and the example's, everything off at once: intervals of 95 % cover 93 to 100 % (200 seeds; what the
spreads settle is
covered more often); a can forgotten, a unit mistaken in one line, tens and ones exchanged: named in 100 of 100; a clean sheet
accused in 1 of 100. What is less than 1.5 % of the tank is not named: a body that nobody drew makes such a step too, and it counts as
misfit, on the safe side. Amounts count as exact: what each can is off by adds up, and only the runs of residuals warn of it.
"""
