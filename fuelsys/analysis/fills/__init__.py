"""A finished tank filled in measured steps, held against its model.

`fuelsys filltest` holds a finished tank against its model. Fitted is the volume at each reading (`analysis/fills/model.py`), its
difference to the total over the surface's area along the stick: a residual as a length, with one pass over the faces and no
inversion. Figures: scale, stick's offset, pitch, roll, a layer on all that faces up. Each has a usual spread (`fillfit.USUAL`, wide)
that counts as one more reading: so what a stick cannot see (a tilt against an offset in a box) stays bounded, and the covariance
stays finite. All sixteen sets of them are fitted; *enough* is one that no larger one improves (F test, p under 0.01); the simplest is
kept, others that are enough and fit as well are told. Capacity and marks get the interval of the *full* correction about the kept
value: with the kept one's own, 95 % covered 70 to 80 % (measured), since what is too small to show still bears on them.

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
