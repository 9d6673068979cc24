"""A mesh as a file: PLY text whose numbers come back bit by bit."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.arrays import Floats, Ints


def ply_text(vertices: Floats, faces: Ints, comments: Sequence[str] = ()) -> str:
    """Vertices (n, 3) and faces (m, 3) as a PLY file, each number in the fewest digits that give it back.

    >>> import numpy as np
    >>> text = ply_text(np.array([[0.1, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2]], dtype=np.int32), ["unit mm"])
    >>> text.splitlines()[:3], text.splitlines()[-4:]
    (['ply', 'format ascii 1.0', 'comment unit mm'], ['0.1 0.0 0.0', '1.0 0.0 0.0', '0.0 1.0 0.0', '3 0 1 2'])
    """
    head = [
        "ply",
        "format ascii 1.0",
        *(f"comment {' '.join(comment.split())}" for comment in comments),
        f"element vertex {len(vertices)}",
        *(f"property double {axis}" for axis in "xyz"),
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
    ]
    corners = [f"{x!r} {y!r} {z!r}" for x, y, z in vertices.tolist()]
    return "\n".join([*head, *corners, *(f"3 {a} {b} {c}" for a, b, c in faces.tolist())]) + "\n"
