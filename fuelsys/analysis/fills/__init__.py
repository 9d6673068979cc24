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

The design names a test (`load/designs/measured.py`: the text keeps its comments; a sheet of another digest is refused), and
`fills/measured.py` fits it anew in each study, so that a changed mesh needs nothing: `Cavity.share` takes the tank's share, the stick
its own correction, a switch measured to trip late its mark's drop. `Unusable.least_m3` keeps unusable fuel from falling for that.

Lines that do not belong (`fillsuspects.py`): each reading alone, and each total from its line on, is an unknown volume more in the
full correction, whose gain is exact where the model is linear; the three best are fitted, and the best is named where chance
would do so on three sheets of a hundred. `fillmeanings.py` then says which slip would make such a difference.

Left out of the fit: readings where the tank falls into pools, where air is trapped, a dry stick. A reset is judged at the
whole tank's level; where the mark's pool stands apart, it is not computed. Measured, 0.7 mm of noise, 16 to 24 readings, tanks of
`tests/fillsheets.py` and the example's, everything off at once: intervals of 95 % cover 93 to 100 % (200 seeds; what the
spreads settle is
covered more often); a can forgotten, a unit mistaken in one line, tens and ones exchanged: named in 100 of 100; a clean sheet
accused in 1 of 100. Amounts count as exact: what each can is off by adds up, and only the runs of residuals warn of it.
"""
