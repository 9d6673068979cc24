"""The review: its page and the folder that it is written into.

`report/page/verdict.py` answers for each tank: *no* with a fault inside; *not known* where a check of what is inside, or of what it
rests on, could not be made; *not yet* with a caution inside or anything open on paper; else *yes, as computed*. What is outside
forbids nothing. `report/page/jobs.py` makes rows of work of the findings, `report/page/reading.py` groups them by reach and
says notes and
rules' reasons once. A table with `appendix=True` stands at the end of the page, one with
`paper=False` there too, unprinted; its warnings stay in its chapter. Figures there are coarse (`Shown.coarse`: 0.1 L);
files keep all digits. A signature is offered only where everything was checked and nothing is open. The paper has no size in the
style sheet: with one, a printer with other paper would scale the page, and the dipstick with it. Measured in PDFs made by Chromium: the
check line is 100.00 mm on A4 and on Letter.
"""
