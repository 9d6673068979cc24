"""The one place that compiles kernels: numba, kept on disk, without the interpreter's lock, without reordered sums.

One implementation, in plain loops, compiled and cached on disk (`kernels/compiled.py`). Measured on the same work: an exact
numpy version takes about ten times as long for a table of 100 levels, and does not beat the general-purpose libraries for a
single plane; the pools' pointer chasing has no good numpy form. numba costs 0.2 s to import, about 10 s once to compile on a
new installation. Sorting and searching stay in numpy: numba's own argsort alone took 5 s to compile. fastmath is off, so
sums keep their order and results do not depend on the machine's threads. When a kernel calls another in a different file,
numba does not notice a change of the callee: delete `fuelsys/kernels/__pycache__` after such edits.
"""

from __future__ import annotations

import hashlib
import io
import os
import pickle
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple, TypeVar, cast

import llvmlite
import numba
import numpy as np
from llvmlite.binding import parse_bitcode
from numba.core import caching, environment, serialize
from numba.core.runtime import rtsys

Function = TypeVar("Function", bound=Callable[..., Any])
_HERE = Path(__file__).parent


def compiled(function: Function) -> Function:
    """Compile a kernel at its first call and keep the result on disk; numba's strict floating point stays on."""
    kernel = numba.njit(nogil=True, error_model="numpy")(function)
    if KEPT_IN is not None:
        kernel._cache = _Kept(function)
    return cast(Function, kernel)


class _Place(caching.UserProvidedCacheLocator):  # type: ignore[misc]  # numba has no types
    """Where all kernels are kept; that it can be written in was tried once, and not for each of them."""

    def __init__(self, function: Any, file: str) -> None:
        super().__init__(function, file)
        self._cache_path = str(KEPT_IN)

    def ensure_cache_path(self) -> None:
        Path(self._cache_path).mkdir(parents=True, exist_ok=True)

    @classmethod
    def from_function(cls, function: Any, file: str) -> Any:
        return cls(function, file)


def _environment(module: str, constants: list[Any], name: str) -> Any:
    """A function's environment without its module, which only code that runs in the interpreter looks at."""
    found = environment.lookup_environment(name)
    if found is None:
        found = environment.Environment({"__name__": module})
        found.consts[:] = constants
        found.env_name = name
        environment.Environment._memo[name] = found
    return found


class _Reader(pickle.Unpickler):
    """Reads what is kept; numba itself would import its compiler's modules for arrays with it, a tenth of its own start."""

    def find_class(self, module: str, name: str) -> Any:
        return _environment if name == "_rebuild_env" else super().find_class(module, name)


class _Library(NamedTuple):
    """A kernel's machine code, the names that it defines, and its bitcode, which only a kernel that is compiled with it needs."""

    name: str
    code: bytes
    bitcode: bytes
    symbols: tuple[str, ...]

    @classmethod
    def of(cls, library: Any, state: tuple[str, str, tuple[bytes, bytes]]) -> _Library:
        """What is kept of a library, with the state that numba itself would keep."""
        name, _, (code, bitcode) = state
        module = library._get_module_for_linking()
        defined = (
            one.name for group in (module.functions, module.global_variables) for one in group if not one.is_declaration
        )
        return cls(name, code, bitcode, tuple(defined))

    def unserialized(self, codegen: Any) -> Any:
        """As numba does it, but for reading the bitcode and the names in it, two thirds of the whole."""
        library = codegen.create_library(self.name)
        library.enable_object_caching()
        library._set_compiled_object(self.code)
        library._finalize_final_module()
        library._get_module_for_linking = partial(parse_bitcode, self.bitcode)
        codegen._engine._defined_symbols.update(self.symbols)
        return library


class _Whole(caching.CompileResultCacheImpl):  # type: ignore[misc]  # numba has no types
    """Puts a digest before what is kept: machine code that is damaged would crash, or worse, run."""

    _locator_classes = (_Place,)

    def reduce(self, result: Any) -> tuple[bytes, bytes]:
        state, *rest = super().reduce(result)
        data = serialize.dumps((tuple(_Library.of(result.library, state)), *rest))
        return hashlib.sha256(data).digest(), data

    def rebuild(self, target: Any, kept: tuple[bytes, bytes]) -> Any:
        digest, data = kept
        if hashlib.sha256(data).digest() != digest:
            raise ValueError
        state, *rest = _Reader(io.BytesIO(data)).load()
        library = _Library(*state).unserialized(target.codegen())
        loader = SimpleNamespace(
            unserialize_library=lambda kept: kept
        )  # numba's own, where the library is read already
        asked = SimpleNamespace(
            codegen=lambda: loader, get_executable=target.get_executable, typing_context=target.typing_context
        )
        return super().rebuild(asked, (library, *rest))._replace(target_context=target)


class _Kept(caching.FunctionCache):  # type: ignore[misc]  # numba has no types
    """What numba keeps of a function, where damage means: nothing is kept. It is then compiled and kept anew."""

    _impl_class = _Whole

    def load_overload(self, signature: Any, target: Any) -> Any:
        """What is kept, without numba's own registries before it: a fifth of a second that only compiling needs, and that asks for them."""
        rtsys.initialize(target)
        try:
            return self._load_overload(signature, target)
        except Exception:  # noqa: BLE001  a damaged pickle may raise anything
            Path(self._cache_file._index_path).unlink(missing_ok=True)
            return None

    def save_overload(self, signature: Any, result: Any) -> None:
        try:
            super().save_overload(signature, result)
        except OSError:  # a full disk, a folder taken away: the kernel is compiled and right all the same
            self.disable()


def _key() -> str:
    """Stands for all that the machine code comes from: a kernel's code goes into its callers in other files, too."""
    versions = (numba.__version__, llvmlite.__version__, np.__version__, sys.version)
    sources = (path.read_bytes() for path in sorted(_HERE.glob("*.py")))
    return hashlib.sha256(b"\0".join([repr(versions).encode(), *sources])).hexdigest()[:16]


def _places() -> Iterator[Path]:
    """Where compiled kernels may be kept, the best first."""
    if numba.config.CACHE_DIR:
        yield Path(numba.config.CACHE_DIR)
    yield _HERE / "__pycache__"
    home = Path(os.path.expanduser("~"))
    if home.is_absolute() and home.is_dir():
        yield Path(os.environ.get("XDG_CACHE_HOME") or home / ".cache", "fuelsys")
    if private := _private(Path(tempfile.gettempdir())):
        yield private


def _private(shared: Path) -> Path | None:
    """A folder of this person's alone in one that all may write in: nobody else can put code there."""
    own = os.getuid() if hasattr(os, "getuid") else 0
    folder = shared / f"fuelsys-{own}"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        found = folder.lstat()
    except OSError:
        return None
    return folder if found.st_uid == own and not found.st_mode & 0o022 else None


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return False
    return True


def _kept_in() -> Path | None:
    return next((folder for place in _places() if _writable(folder := place / f"kernels-{_key()}")), None)


# None where nothing can be kept: the kernels are then compiled in every run.
KEPT_IN = _kept_in()
BESIDE = KEPT_IN is not None and _HERE in KEPT_IN.parents


def never_compiled() -> bool:
    """Whether a first run will have to compile everything."""
    return KEPT_IN is None or next(KEPT_IN.rglob("*.nbi"), None) is None
