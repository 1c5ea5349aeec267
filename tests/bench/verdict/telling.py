"""Which diaries can tell a faulty verdict from a sound one, found in one judgement of each.

Every function of the modules at hand is watched while a diary is judged. At each call its faulty
versions are called with the same arguments. As the functions are pure, a fault that returns the
same at every call leaves the judgement as it is; one that raises first brings no go. So one
judgement of a diary tries the thousands of faults of all modules, and only those that changed a
value are left to be judged by themselves. A fault of a constant is tried in every function that
reads its name. The few faults that are neither, in the body of a class, are never left out.

Used by `wrong_goes.py`.
"""

from __future__ import annotations

import ast
import builtins
import gc
import inspect
import math
import signal
import sys
from collections import defaultdict
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cached_property
from itertools import islice
from types import CodeType, FunctionType, GeneratorType, ModuleType
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from bench.verdict.mutants import Mutant

CHANGED, RAISED = "changed", "raised"
# What keeps its state changes it, so it is told by what the function that makes it returns.
HOSTS = {
    ("course.bubbling", "_Story"): "airlock",
    ("course.pourings", "_Walk"): "walked",
}
ALWAYS = (  # what these return is kept, so that a later call would not come to them
    *("Weigher._weighed", "Weigher.__call__", "Situation.told", "Situation.gravity_check"),
)
HANG_S = 2.0
MOST_ITEMS = 5000
_NAME = "_bubblerate_watched"
_PLAIN = (int, float, str, bool, type(None))
_INNER = ("<listcomp>", "<setcomp>", "<dictcomp>", "<genexpr>")


@dataclass(slots=True, eq=False, kw_only=True)
class Fault:
    """A mutant, and what of its module it changes."""

    mutant: Mutant
    functions: list[tuple[FunctionType, FunctionType]] = field(default_factory=list)  # sound, not
    names: dict[tuple[str, str], object] = field(default_factory=dict)  # module and name: value
    whole: bool = False  # neither alone: the module is to be executed anew
    broken: bool = False  # it cannot be imported

    @property
    def idle(self) -> bool:
        """Whether it is the same to the machine."""
        return not (self.functions or self.names or self.whole or self.broken)


class HangError(Exception):
    """A faulty version took far too long."""


# --- what a mutant changes ------------------------------------------------------------------------


class Faults:
    """Tells what each mutant changes, of modules that are all imported."""

    def __init__(self, modules: Iterable[str]) -> None:
        self.modules = [*modules]
        self.made = {id(f): f for f in map(_plain, gc.get_objects()) if f is not None}
        by_file = defaultdict(list)
        for f in self.made.values():
            by_file[f.__code__.co_filename].append(f)
        self.by_file = by_file
        self.sound = {name: _sound(name) for name in self.modules}

    def of(self, mutant: Mutant) -> Fault:
        """What it changes."""
        module = _module(mutant.module)
        code, fault = self.sound[mutant.module], Fault(mutant=mutant)
        pairs = [*_differing(code, mutant.code)]
        if any(found is None for _, found in pairs):
            fault.whole = True
            return fault
        for sound, changed in pairs:
            assert sound is not None
            assert changed is not None
            if sound is code or not sound.co_flags & inspect.CO_OPTIMIZED:
                continue  # of the module or a class: below
            of = [f for f in self.by_file[sound.co_filename] if f.__code__ == sound]
            fault.whole |= not of or bool(sound.co_freevars)
            fault.functions += [(f, _like(f, code=changed)) for f in of]
        if any(not sound.co_flags & inspect.CO_OPTIMIZED for sound, _ in pairs if sound):
            self._executed(fault, module)
        return fault

    def _executed(self, fault: Fault, module: ModuleType) -> None:
        """Names that get other values, and functions that get other defaults."""
        try:
            found = _run(fault.mutant.code, module)
        except Exception:
            fault.broken = True
            return
        for name, value in found.items():
            was = vars(module).get(name)
            if isinstance(value, type) and value.__module__ == module.__name__:
                fault.whole |= not isinstance(was, type) or not _same_class(was, value)
            elif isinstance(was, FunctionType) and isinstance(value, FunctionType):
                if not same((was.__defaults__, was.__kwdefaults__), _defaults(value)):
                    fault.functions.append((was, _like(was, defaults=value)))
            elif not (name.startswith("__") or hasattr(value, "cache_clear") or same(was, value)):
                fault.names[module.__name__, name] = value
        if set(vars(module)) - set(found) - {"__cached__", "__doc__", "__builtins__"}:
            fault.whole = True
        self._carried(fault, module, [name for _, name in fault.names])

    def _carried(self, fault: Fault, module: ModuleType, names: list[str]) -> None:
        """The same names in modules that import them, and what those make of them."""
        sound = {name: vars(module)[name] for name in names if name in vars(module)}
        for other in map(_module, self.modules):
            taken = [n for n in sound if n in vars(other) and vars(other)[n] is sound[n]]
            if other is module or not taken or not _imports(other, module, taken):
                continue
            for name in taken:
                fault.names[other.__name__, name] = fault.names[module.__name__, name]
            if not _used_at_import(other, taken):
                continue
            try:
                vars(module).update({n: fault.names[module.__name__, n] for n in taken})
                found = _run(self.sound[other.__name__.removeprefix("bubblerate.")], other)
            finally:
                vars(module).update(sound)
            for name, value in found.items():
                was = vars(other).get(name)
                plain = not isinstance(value, type | FunctionType | ModuleType)
                plain &= not hasattr(value, "cache_clear")
                if plain and not name.startswith("__") and not same(was, value):
                    fault.names[other.__name__, name] = value


def _module(name: str) -> ModuleType:
    return sys.modules[name if name.startswith("bubblerate") else f"bubblerate.{name}"]


def _plain(one: object) -> FunctionType | None:
    return one if type(one) is FunctionType else None


def _sound(name: str) -> CodeType:
    module = _module(name)
    assert module.__file__ is not None
    return compile(inspect.getsource(module), module.__file__, "exec", dont_inherit=True)


def _run(code: CodeType, module: ModuleType) -> dict[str, Any]:
    """Names of a module executed anew, beside the one there is."""
    kept = ("__name__", "__package__", "__file__", "__loader__", "__spec__")
    names = {name: vars(module)[name] for name in kept}
    exec(code, names)
    return names


def _differing(a: CodeType, b: CodeType) -> Iterator[tuple[CodeType | None, CodeType | None]]:
    """Codes of functions, classes or the module that differ, each without those within it."""
    ours, theirs = _bodies(a), _bodies(b)
    if not _alike(a, b):
        yield a, b
    elif len(ours) == len(theirs):
        for one, two in zip(ours, theirs, strict=True):
            if a.co_flags & inspect.CO_OPTIMIZED:
                return  # `_alike` looked into what is within a function
            yield from _differing(one, two)
    else:
        yield a, None


def _bodies(code: CodeType) -> list[CodeType]:
    return [c for c in code.co_consts if isinstance(c, CodeType) and c.co_name not in _INNER]


def _alike(a: CodeType, b: CodeType) -> bool:
    """Whether two codes do the same; within a module or class, but for its functions."""
    inside = bool(a.co_flags & inspect.CO_OPTIMIZED)
    if _flat(a) != _flat(b) or len(a.co_consts) != len(b.co_consts):
        return False
    for one, two in zip(a.co_consts, b.co_consts, strict=True):
        if isinstance(one, CodeType) and isinstance(two, CodeType):
            if (inside or one.co_name in _INNER) and not _alike(one, two):
                return False
        elif repr(one) != repr(two) or type(one) is not type(two):
            return False
    return True


def _flat(code: CodeType) -> tuple[object, ...]:
    return (
        *(code.co_code, code.co_names, code.co_varnames, code.co_freevars, code.co_cellvars),
        *(code.co_argcount, code.co_kwonlyargcount, code.co_flags, code.co_exceptiontable),
    )


def _like(
    f: FunctionType,
    *,
    code: CodeType | None = None,
    defaults: FunctionType | None = None,
    names: dict[str, object] | None = None,
) -> FunctionType:
    """A function like another, but for its code, its defaults or what some names mean."""
    known = f.__globals__ if names is None else {**f.__globals__, **names}
    other = f if defaults is None else defaults
    made = FunctionType(code or f.__code__, known, f.__name__, other.__defaults__, f.__closure__)
    made.__kwdefaults__ = other.__kwdefaults__
    return made


def _defaults(f: FunctionType) -> tuple[object, object]:
    return f.__defaults__, f.__kwdefaults__


def _same_class(a: type, b: type) -> bool:
    """Whether a class executed anew has the same values; its functions are compared as codes."""
    theirs = vars(b)
    for name, value in vars(a).items():
        if name.startswith("__") or callable(value) or hasattr(value, "__get__"):
            continue
        if name not in theirs or not same(value, theirs[name]):
            return False
    if is_dataclass(a) and is_dataclass(b):
        ours = [(f.name, f.default, f.init, f.repr, f.compare) for f in fields(a)]
        news = [(f.name, f.default, f.init, f.repr, f.compare) for f in fields(b)]
        return same(ours, news) and same(_methods(a), _methods(b))
    return same(_methods(a), _methods(b))


def _methods(cls: type) -> list[object]:
    found = [one for one in vars(cls).values() if isinstance(one, FunctionType)]
    return [_defaults(f) for f in found if f.__code__.co_filename != "<string>"]


def _imports(other: ModuleType, module: ModuleType, names: list[str]) -> bool:
    """Whether a module takes names from another; a small number may be the same by chance."""
    tree, own = _tree(other), module.__name__.rpartition(".")[2]
    return any(
        (node.module or "").rpartition(".")[2] in (own, "")
        and any(alias.name in names for alias in node.names)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
    )


_TREES: dict[str, ast.Module] = {}


def _tree(module: ModuleType) -> ast.Module:
    if module.__name__ not in _TREES:
        _TREES[module.__name__] = ast.parse(inspect.getsource(module))
    return _TREES[module.__name__]


def _used_at_import(module: ModuleType, names: list[str]) -> bool:
    found = (node for node in _tree(module).body if isinstance(node, ast.Assign | ast.AnnAssign))
    return any(
        isinstance(one, ast.Name) and one.id in names for node in found for one in ast.walk(node)
    )


# --- the same value -------------------------------------------------------------------------------

_SOUND_CODE: dict[int, CodeType] = {}  # of watched functions, whose own code is a stand-in


def same(a: Any, b: Any) -> bool:
    """Whether two values are the same to all that reads them."""
    if a is b:
        return True
    if type(a) is not type(b) and not _twins(type(a), type(b)):
        return False
    match a:
        case float():
            return bool(a == b) or (math.isnan(a) and math.isnan(b))
        case np.ndarray():
            if a.shape != b.shape or a.dtype != b.dtype:
                return False
            return bool(np.array_equal(a, b, equal_nan=a.dtype.kind == "f"))
        case tuple() | list():
            return len(a) == len(b) and all(map(same, a, b))
        case dict():
            return [*a] == [*b] and all(same(a[key], b[key]) for key in a)
        case FunctionType():
            ours, news = (_SOUND_CODE.get(id(f), f.__code__) for f in (a, b))
            return _alike(ours, news) and same(_defaults(a), _defaults(b))
    if is_dataclass(a):
        return all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    try:
        return bool(a == b)
    except Exception:
        return False


def _twins(a: type, b: type) -> bool:
    """Whether one is the other executed anew."""
    return (a.__module__, a.__qualname__) == (b.__module__, b.__qualname__)


# --- watching -------------------------------------------------------------------------------------


@dataclass(slots=True, eq=False)
class _Watched:
    name: str
    sound: FunctionType
    generator: bool
    always: bool
    faulty: list[tuple[int, Callable[..., Any], _Watched | None]] = field(default_factory=list)
    live: list[tuple[int, Callable[..., Any], _Watched | None]] = field(default_factory=list)
    stands_in: Callable[..., Any] | None = None
    called: bool = False


class Watch:
    """Every function of the modules, with its faulty versions.

    Functions are changed where they are, so a process that watches does nothing else after.
    """

    def __init__(self, known: Faults, faults: list[Fault]) -> None:
        self.watched: list[_Watched] = []
        self.inside = False
        self.kept: dict[tuple[object, ...], tuple[object, object]] = {}
        self.told: dict[int, str] = {}
        of = {}
        for module in known.modules:
            path = _module(module).__file__ or ""
            for f in known.by_file[path]:
                code = f.__code__
                if not code.co_freevars and "<locals>" not in f.__qualname__:
                    of[id(f)] = self._watch(module, f)
        self.hosts = {
            key: next((w for w in self.watched if w.name == f"{key[0]}:{host}"), None)
            for key, host in HOSTS.items()
        }
        for number, fault in enumerate(faults):
            for f, variant in fault.functions:
                if id(f) in of:
                    self._add(number, of[id(f)], variant)
            if fault.names:
                self._add_names(number, fault)
        signal.signal(signal.SIGVTALRM, _hung)
        setattr(builtins, _NAME, self._enter)
        self._caches = caches()

    def _watch(self, module: str, f: FunctionType) -> _Watched:
        _SOUND_CODE[id(f)] = f.__code__
        sound = _like(f)
        found = _Watched(
            name=f"{module}:{f.__qualname__}",
            sound=sound,
            generator=bool(f.__code__.co_flags & inspect.CO_GENERATOR),
            always=f.__qualname__ in ALWAYS or _is_kept(module, f),
        )
        stand_in = _STAND_IN.replace(
            co_consts=tuple(len(self.watched) if c == -77 else c for c in _STAND_IN.co_consts),
            co_name=f.__name__,
        )
        f.__code__ = stand_in
        self.watched.append(found)
        return found

    def _add(self, number: int, w: _Watched, variant: Callable[..., Any]) -> None:
        module, _, name = w.name.partition(":")
        host = self.hosts.get((module, name.partition(".")[0]))
        if host is not None:
            host.faulty.append((number, variant, w))
        else:
            w.faulty.append((number, variant, None))

    def _add_names(self, number: int, fault: Fault) -> None:
        by_module: dict[str, dict[str, object]] = defaultdict(dict)
        for (module, name), value in fault.names.items():
            by_module[module][name] = value
        for w in self.watched:
            names = by_module.get(f"bubblerate.{w.name.partition(':')[0]}")
            if names and _reads(w.sound.__code__, names):
                self._add(number, w, _like(w.sound, names=names))

    def reached(self) -> set[int]:
        """Faults of functions that were called."""
        return {fault[0] for w in self.watched if w.called for fault in w.faulty}

    def judge(self, ask: Callable[[], bool]) -> tuple[bool, dict[int, str]]:
        """Answer of one diary, and the faults that change what some function returns."""
        for cache in self._caches:
            cache.cache_clear()
        self.kept, self.told = {}, {}
        for w in self.watched:
            w.live = w.faulty
        return ask(), self.told

    def _enter(self, n: int, args: tuple[Any, ...], kwargs: dict[str, Any]) -> Any:
        w = self.watched[n]
        if self.inside:
            if w.stands_in is not None:
                return w.stands_in(*args, **kwargs)
            if not w.always:
                return self._remembered(n, w, args, kwargs)
        w.called = True
        try:
            result = w.sound(*args, **kwargs)
        except Exception:
            for number, *_ in w.live:
                self.told[number] = CHANGED
            w.live = []
            raise
        if w.live:
            self._tell(w, args, kwargs, result)
        if not self.inside and not w.generator and not isinstance(result, GeneratorType):
            self.kept[_key(n, args, kwargs)] = result, (args, kwargs)
        return result

    def _remembered(
        self, n: int, w: _Watched, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> Any:
        found = self.kept.get(_key(n, args, kwargs))
        return w.sound(*args, **kwargs) if found is None else found[0]

    def _tell(
        self, w: _Watched, args: tuple[Any, ...], kwargs: dict[str, Any], result: Any
    ) -> None:
        was, self.inside = self.inside, True
        many = w.generator or isinstance(result, GeneratorType)
        try:
            if many:
                result = [*islice(w.sound(*args, **kwargs), MOST_ITEMS)]
            left = []
            for fault in w.live:
                if fault[0] in self.told:
                    continue
                said = self._said(fault, w, args, kwargs, result, many)
                if said:
                    self.told[fault[0]] = said
                else:
                    left.append(fault)
            w.live = left
        finally:
            self.inside = was

    def _said(
        self,
        fault: tuple[int, Callable[..., Any], _Watched | None],
        w: _Watched,
        args: tuple[Any, ...],
        kwargs: dict[str, Any],
        result: Any,
        many: bool,
    ) -> str:
        _, variant, guest = fault
        kept = self.kept
        signal.setitimer(signal.ITIMER_VIRTUAL, HANG_S)
        try:
            if guest is None:
                found = variant(*args, **kwargs)
            else:
                guest.stands_in, self.kept = variant, {}
                found = w.sound(*args, **kwargs)
            if many:
                found = [*islice(found, MOST_ITEMS)]
            return "" if same(result, found) else CHANGED
        except HangError:
            return CHANGED
        except Exception:
            return CHANGED if many or guest is not None else RAISED
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
            if guest is not None:
                guest.stands_in, self.kept = None, kept


def caches() -> list[Any]:
    """Every cache of the program."""
    found = [f for f in gc.get_objects() if hasattr(type(f), "cache_clear")]
    return [
        f for f in found if f.__module__.startswith(("bubblerate.verdict", "bubblerate.course"))
    ]


def _hung(*_: object) -> None:
    raise HangError


def _reads(code: CodeType, names: Iterable[str]) -> bool:
    inner = (c for c in code.co_consts if isinstance(c, CodeType))
    return any(name in code.co_names for name in names) or any(_reads(c, names) for c in inner)


def _key(n: int, args: tuple[Any, ...], kwargs: dict[str, Any]) -> tuple[object, ...]:
    """Arguments by what they are, or which object: those are kept, so that no other is it."""
    own = tuple((type(a), a) if type(a) in _PLAIN else id(a) for a in args)
    if not kwargs:
        return n, own
    more = tuple((k, (type(a), a) if type(a) in _PLAIN else id(a)) for k, a in kwargs.items())
    return n, own, more


def _is_kept(module: str, f: FunctionType) -> bool:
    """Whether what it returns is kept, by a property or a cache."""
    holder: Any = _module(module)
    *classes, name = f.__qualname__.split(".")
    for one in classes:
        holder = vars(holder).get(one, holder)
    found = vars(holder).get(name)
    return isinstance(found, cached_property) or hasattr(found, "cache_clear")


_STAND_IN = next(
    c
    for c in compile(
        f"def stand_in(*args, **kwargs):\n    return {_NAME}(-77, args, kwargs)", __file__, "exec"
    ).co_consts
    if isinstance(c, CodeType)
)


# --- a fault for good -----------------------------------------------------------------------------


def put(fault: Fault, change: Callable[[Mutant], None]) -> None:
    """Put a fault in the place of what is sound, for the rest of this process."""
    if fault.whole:
        change(fault.mutant)
        return
    for f, faulty in fault.functions:
        f.__code__ = faulty.__code__
        f.__defaults__, f.__kwdefaults__ = faulty.__defaults__, faulty.__kwdefaults__
    for (module, name), value in fault.names.items():
        setattr(sys.modules[module], name, value)
