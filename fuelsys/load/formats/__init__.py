"""Mesh files as they stand: one file a format.

`files.READERS` has an ending's format and module; the module is imported when such a file comes. A reader gets bytes and hands on
a `Raw`: corners, faces, the unit where the file says it, and the part of each face where the file tells parts apart. Everything
else (welding, picking, judging) is done behind it, alike for all formats.
"""
