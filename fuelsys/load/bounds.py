"""How much is read at all: bounds far beyond any light aircraft's tanks, so that no small file costs minutes or gigabytes.

Each stands at several times what a person would really have. Where a bound can only be met by copies or by packing, a file
that really holds so much is read all the same: its size pays for it.

`load/bounds.py` says how much is read at all, each bound with its reason, far beyond any light aircraft's tanks. What a small file
would make of itself is counted before any of it is made: copies in GLB and 3MF (`load/formats/sizes.py`), what an archive
unpacks to, parts
of a dotted key, values, tanks, bodies inside, attitudes times fittings. What was quadratic is one pass (parting shells:
`surface.by_label`; the box around a shell: `kernels/boxes.py`). Of a design's faults fifty are put into words, the rest is counted.
What a bound leaves unlooked-at is a doubt or "at least", never silence. Files are opened without waiting, and only regular ones
are read (`files.contents`). Measured before and after, in seconds of work and MB:

(The table: tests/benchmarks/MEASURED.md.)
"""

from __future__ import annotations

# --- mesh files ------------------------------------------------------------------------------------------------------
MOST_MESH_BYTES = 2 * 1024**3
# What a file unpacks to. Three million faces in 3MF's text; the mesh library takes over twice as much while it reads.
MOST_UNPACKED_BYTES = 512 * 1024**2
# ... and what it may unpack to without being so large itself: numbers as text pack to a tenth (measured), blanks to a thousandth.
# Twelve megabytes of the shortest elements take 0.9 GB as a tree.
MOST_SMALL_BYTES, MOST_RATIO = 12 * 1024**2, 50
MOST_PLACED = 10_000  # parts in one file, copies counted: a whole aircraft with its screws
MOST_DEEP = 100  # groups in groups; of closed surfaces in each other the nearest so many are told
# Faces and corners in their places, copies counted: a million faces take 5 s and 0.8 GB (measured), and a tank of a hundred
# thousand is finely drawn. Corners go further, because some writers hand all corners of a body to each of its faces. More are
# read where the file itself holds them: a face takes no fewer bytes than these.
MOST_FACES, MOST_CORNERS, FACE_BYTES = 1_000_000, 10_000_000, 12
MOST_NESTED = 200  # closed shells that are held against each other; more are no tank
MOST_ALIKE = 300  # copies of a face that are held against all others when a mesh is examined; they are a fault as such
MOST_OVERLAPS = 200  # bodies that may reach into the one that was picked and are cut with it

# --- design files ----------------------------------------------------------------------------------------------------
MOST_DESIGN_BYTES = 4 * 1024**2  # forty thousand lines; a design of two tanks has three hundred
# Keys and items of lists, a table counting as so many: ten thousand fittings or attitudes come to half of this.
MOST_VALUES, TABLE_VALUES = 300_000, 5
# Parts of a dotted key: the deepest is tank.outlet.strainer.mesh. Reading one takes the square of its parts.
MOST_KEY_PARTS = 16
# Tanks of a light aircraft, of which there are a few; what they give to each other takes the square of them. And tanks and
# fittings times attitudes, each of which is drained: forty thousand take 10 s (measured), a real design has a thousand.
MOST_TANKS, MOST_CASES = 100, 40_000
# Bodies inside a tank: ribs, tubes, senders. A thousand take 5 s and 0.3 GB with manifold3d 3.5.4, 6 s and 3 GB with 3.3.2.
MOST_INSIDE = 300
# Gauges of a tank, each of which is followed along its way at every attitude: real tanks have one or two.
MOST_GAUGES = 20
# --- fill tests ------------------------------------------------------------------------------------------------------
MOST_SHEET_BYTES, MOST_SHEET_LINES = 1024**2, 500  # a test of sixty lines is a long day; 500 readings take a second
MOST_TOLD = 50  # faults that are told in words; the rest is counted
MOST_NAMED = 20  # names in one sentence
MOST_SEGMENTS = 200  # parts of one flight
