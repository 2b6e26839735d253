"""Frozen values without generated code: the base of every record of the library.

The data structure is a class whose instances are a row of slots. A class that derives from `Value` names its fields as
annotations, in order, and may give defaults; `Value` serves all classes with the same few functions, so that a class
costs microseconds to define where generated code costs a millisecond. The key of a value is the tuple of its comparing
fields: two values are equal where their classes are the same and their keys are. INVARIANT: a field, once set, never
changes; neither does what was computed from the fields (`lazy`).

>>> class Groove(Value):
...     place: int
...     depth: str = "unknown"
>>> Groove(1), Groove(1) == Groove(place=1, depth="unknown"), replace(Groove(1), depth="3 mm")
(Groove(place=1, depth='unknown'), True, Groove(place=1, depth='3 mm'))
"""

from __future__ import annotations

from operator import attrgetter
from types import MappingProxyType

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from enum import StrEnum as Words
    from functools import cached_property as lazy
    from inspect import Signature
    from typing import Any, NoReturn, TypeVar, dataclass_transform

    _Value = TypeVar("_Value", bound="Value")
else:

    def dataclass_transform(**_told: Any) -> Callable[[type], type]:
        """Tell type checkers what `Value` does to its subclasses; nothing happens at run time."""
        return lambda kind: kind

    class lazy:  # noqa: N801  # it is written as a decorator, as `property` is
        """A method whose result is computed when it is first read and kept in a slot; never compared nor printed."""

        __slots__ = ("compute",)

        def __init__(self, compute: Callable[[Any], Any]) -> None:
            self.compute = compute


__all__ = ["Frozen", "Value", "Words", "field", "fields", "lazy", "replace"]

#: Stands where a field has no default.
_MISSING: Any = object()


class _Field:
    """What is said of a field beside its type."""

    __slots__ = ("compare", "default", "default_factory", "repr")

    def __init__(self, default: Any, default_factory: Callable[[], Any] | None, compare: bool, repr: bool) -> None:
        if default.__class__.__hash__ is None:
            raise TypeError(f"the default {default!r} could change; give a default_factory")
        self.default, self.default_factory, self.compare, self.repr = default, default_factory, compare, repr

    @property
    def required(self) -> bool:
        """Whether a value must be given."""
        return self.default is _MISSING and self.default_factory is None

    def fallback(self) -> Any:
        """Return what the field holds where no value is given."""
        return self.default if self.default_factory is None else self.default_factory()


_PLAIN = _Field(_MISSING, None, True, True)


def field(
    *,
    default: Any = _MISSING,
    default_factory: Callable[[], Any] | None = None,
    compare: bool = True,
    repr: bool = True,
) -> Any:
    """Say more of a field: what makes its default, whether it counts in comparing, whether it is printed.

    Raises TypeError for a default that could change (a list, a dictionary, a set).
    """
    return _Field(default, default_factory, compare, repr)


class Frozen:
    """Refuses to set and delete attributes; the base of values that are written by hand."""

    __slots__ = ()

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"cannot assign to {name!r}: a {type(self).__name__} never changes")

    def __delattr__(self, name: str) -> NoReturn:
        raise AttributeError(f"cannot delete {name!r}: a {type(self).__name__} never changes")


class _Kind(type):
    """The class of `Value` and its subclasses: it turns the annotations of a class body into slots."""

    #: Field name -> what is said of it, in order; those of the base class first.
    _fields: dict[str, _Field]
    #: What sets each field of an instance, in the same order: a slot refuses to be set in any other way.
    _setters: tuple[Callable[[Any, Any], None], ...]
    #: What gives the key of an instance.
    _key: Callable[[Any], Any]
    #: Name of a slot that is filled when it is first read -> what computes it, and what sets it.
    _lazy: dict[str, tuple[Callable[[Any], Any], Callable[[Any, Any], None]]]

    def __new__(meta, name: str, bases: tuple[type, ...], body: dict[str, Any]) -> _Kind:
        if "__annotations__" not in body and ("__annotate__" in body or "__annotate_func__" in body):
            raise TypeError(f"the module of {name} must import annotations from __future__")
        inherited = [base for base in bases if isinstance(base, _Kind)]
        told = {each: said for base in inherited for each, said in base._fields.items()}
        computed = {each: said for base in inherited for each, said in base._lazy.items()}
        own = []
        for each, annotation in body.get("__annotations__", {}).items():
            if str(annotation).removeprefix("typing.").startswith("ClassVar"):
                continue
            if each not in told:
                own.append(each)
            said = body.pop(each, _PLAIN)
            told[each] = said if isinstance(said, _Field) else _Field(said, None, True, True)
        optional = ""
        for each, said in told.items():
            if said.required and optional:
                raise TypeError(f"non-default argument {each!r} follows default argument {optional!r}")
            optional = optional if said.required else each
        late = {each: body.pop(each).compute for each in [*body] if isinstance(body[each], lazy)}
        body["__slots__"] = (*own, *(each for each in late if each not in computed))
        body.setdefault("__match_args__", tuple(told))
        kind = super().__new__(meta, name, bases, body)
        kind._fields, kind._setters = told, tuple(getattr(kind, each).__set__ for each in told)
        names = [each for each, said in told.items() if said.compare]
        kind._key = attrgetter(*names) if names else _no_key
        kind._lazy = {
            **computed,
            **{each: (compute, getattr(kind, each).__set__) for each, compute in late.items()},
        }
        return kind

    @property
    def __signature__(cls) -> Signature:
        """What `inspect.signature` and `help` show of the fields."""
        import inspect

        if cls.__init__ is not Value.__init__:  # type: ignore[misc]  # of no instance, and only to tell them apart
            raise AttributeError("its own __init__ says what it takes")
        types = {each: said for base in reversed(cls.__mro__) for each, said in inspect.get_annotations(base).items()}
        return inspect.Signature(
            [
                inspect.Parameter(
                    each,
                    inspect.Parameter.POSITIONAL_OR_KEYWORD,
                    default=inspect.Parameter.empty if said.required else said.fallback(),
                    annotation=types[each],
                )
                for each, said in cls._fields.items()
            ]
        )


def _no_key(_value: object) -> tuple[()]:
    return ()


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Value(Frozen, metaclass=_Kind):
    """The base of frozen values; see the module for what a subclass writes.

    A subclass may define `__post_init__` to check its fields, which are set by then, and mark methods without arguments
    as `lazy`. Raises TypeError, worded as Python's own, where a value is made with a missing or unknown argument.
    """

    __slots__ = ()

    def __init__(self, *given: Any, **named: Any) -> None:
        kind = type(self)
        if named or len(given) != len(kind._setters):
            given = _arranged(kind, given, named)
        for put, value in zip(kind._setters, given, strict=True):
            put(self, value)
        self.__post_init__()

    def __post_init__(self) -> None:
        """Check the fields, where a subclass has something to check."""

    if not TYPE_CHECKING:  # else a type checker would take any name for an attribute

        def __getattr__(self, name: str) -> Any:
            # Python comes here only for a name that is not there: a lazy slot is empty until it is first read.
            known = type(self)._lazy.get(name)
            if known is None:
                raise AttributeError(f"{type(self).__name__!r} object has no attribute {name!r}")
            compute, put = known
            value = compute(self)
            put(self, value)
            return value

    def __eq__(self, other: object) -> bool:
        if other.__class__ is not self.__class__:
            return NotImplemented
        key = type(self)._key
        return bool(key(self) == key(other))

    def __hash__(self) -> int:
        return hash(type(self)._key(self))

    def __repr__(self) -> str:
        kind = type(self)
        shown = (f"{name}={getattr(self, name)!r}" for name, said in kind._fields.items() if said.repr)
        return f"{kind.__qualname__}({', '.join(shown)})"

    def __reduce__(self) -> tuple[Any, ...]:
        kind = type(self)
        values = [getattr(self, name) for name in kind._fields]
        # A view of a mapping cannot be pickled: the mapping is, and a view made of it again.
        views = tuple([place for place, value in enumerate(values) if type(value) is MappingProxyType])
        for place in views:
            values[place] = dict(values[place])
        return _restored, (kind, tuple(values), views)

    def __replace__(self: _Value, /, **changes: Any) -> _Value:
        """Return the same value with some fields changed; Python 3.13 calls it for `copy.replace`."""
        kept = {name: getattr(self, name) for name in type(self)._fields}
        return type(self)(**(kept | changes))


def replace(value: _Value, /, **changes: Any) -> _Value:
    """Return `value` with some fields changed. Raises TypeError for a name that is no field."""
    return value.__replace__(**changes)


def fields(kind: type[Value] | Value) -> tuple[str, ...]:
    """Return the names of the fields of a class or of a value, in order."""
    return tuple((kind if isinstance(kind, _Kind) else type(kind))._fields)


def _restored(kind: type[Any], held: tuple[Any, ...], views: tuple[int, ...] = ()) -> Any:
    """Return the value of a class with these fields, which were checked when it was first made.

    Those at the places `views` are mappings that nobody may change.
    """
    value = object.__new__(kind)
    for place, (put, each) in enumerate(zip(kind._setters, held, strict=True)):
        put(value, MappingProxyType(each) if place in views else each)
    return value


def _arranged(kind: _Kind, given: tuple[Any, ...], named: dict[str, Any]) -> tuple[Any, ...]:
    """Return a value for every field, in order. Raises TypeError as a call of a function does."""
    told, call = kind._fields, f"{kind.__name__}.__init__()"
    if len(given) > len(told):
        least, most = 1 + sum(said.required for said in told.values()), 1 + len(told)
        takes = f"from {least} to {most}" if least < most else str(most)
        arguments = "argument" if takes == "1" else "arguments"
        raise TypeError(f"{call} takes {takes} positional {arguments} but {1 + len(given)} were given")
    values = dict(zip(told, given, strict=False))
    for name in named:
        if name in values:
            raise TypeError(f"{call} got multiple values for argument {name!r}")
        if name not in told:
            raise TypeError(f"{call} got an unexpected keyword argument {name!r}")
    values.update(named)
    missing = [repr(name) for name, said in told.items() if name not in values and said.required]
    if missing:
        *others, last = missing
        names = f"{', '.join(others)}{',' * (len(others) > 1)} and {last}" if others else last
        raise TypeError(f"{call} missing {len(missing)} required positional argument{'s' * bool(others)}: {names}")
    return tuple([values[name] if name in values else said.fallback() for name, said in told.items()])


# --- closed lists of words --------------------------------------------------------------------------------------------

if not TYPE_CHECKING:

    class _List(type):
        """The class of a closed list of words: it turns the texts of a class body into members, in order."""

        def __new__(meta, name: str, bases: tuple[type, ...], body: dict[str, Any]) -> _List:
            texts = {key: said for key, said in body.items() if key[:1] != "_" and isinstance(said, str)}
            kind = super().__new__(meta, name, bases, {key: said for key, said in body.items() if key not in texts})
            kind._words = {}
            for key, text in texts.items():
                word = str.__new__(kind, text)
                object.__setattr__(word, "name", key)
                type.__setattr__(kind, key, word)
                kind._words[text] = word
            return kind

        def __call__(cls, text: str) -> Any:
            """Return the member with a text. Raises ValueError where there is none."""
            try:
                return cls._words[text]
            except (KeyError, TypeError):
                raise ValueError(f"{text!r} is not a valid {cls.__name__}") from None

        def __iter__(cls) -> Iterator[Any]:
            return iter(cls._words.values())

        def __reversed__(cls) -> Iterator[Any]:
            return reversed(cls._words.values())

        def __len__(cls) -> int:
            return len(cls._words)

        def __contains__(cls, text: object) -> bool:
            return isinstance(text, str) and text in cls._words

        def __getitem__(cls, name: str) -> Any:
            return cls.__members__[name]

        @property
        def __members__(cls) -> dict[str, Any]:
            """Every member by its name."""
            return {word.name: word for word in cls}

        def __setattr__(cls, name: str, value: object) -> None:
            if name != "_words":
                raise AttributeError(f"cannot assign to {name!r}: {cls.__name__} is a closed list")
            super().__setattr__(name, value)

    class Words(str, metaclass=_List):
        """A closed list of words, each of them a text with a `name`; to type checkers it is `enum.StrEnum`.

        It serves as that does, and its import costs nothing: `enum` takes a third of what a bare interpreter does.

        >>> class Side(Words):
        ...     LEFT = "left"
        ...     RIGHT = "right"
        >>> Side("left"), Side.LEFT == "left", str(Side.LEFT), Side("left") is Side.LEFT, [*Side]
        (<Side.LEFT: 'left'>, True, 'left', True, [<Side.LEFT: 'left'>, <Side.RIGHT: 'right'>])
        """

        __slots__ = ("name",)
        __str__ = str.__str__
        __format__ = str.__format__

        @property
        def value(self) -> str:
            """The text."""
            return str.__str__(self)

        def __repr__(self) -> str:
            return f"<{type(self).__name__}.{self.name}: {str.__repr__(self)}>"

        def __setattr__(self, name: str, value: object) -> None:
            raise AttributeError(f"cannot assign to {name!r}: a {type(self).__name__} never changes")

        def __reduce__(self) -> tuple[Any, ...]:
            return type(self), (self.value,)
