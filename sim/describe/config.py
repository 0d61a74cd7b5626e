"""Read the builder's TOML: every problem at once, each as `file:line: key: found, wanted`.

Overrides are texts such as `items.pack.aft="95 mm"`; they go through the same checks as the
file, and problems in them start with `--set` in place of file and line.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from firstthrow import configs
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import units_of
from firstthrow.sim.describe.consistency import airframe_problems
from firstthrow.sim.describe.decimals import pointed
from firstthrow.sim.describe.field import Field
from firstthrow.sim.describe.keys import annotation_at, children, example, mapped, model_of
from firstthrow.sim.describe.problems import (
    KeyPath,
    Problem,
    did_you_mean,
    dotted,
    nearest,
    plainly,
)
from firstthrow.sim.describe.toml_lines import key_lines
from firstthrow.sim.describe.write import toml_value
from firstthrow.sim.numerals import shown

Model = TypeVar("Model", bound=BaseModel)
Tree = dict[str, Any]

_INSTALLED = Path(configs.__file__).resolve().parent
_WHOLE_NUMBER = re.compile(r"[+-]?[0-9]+")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
LONG = 1000  # characters of a line in which a slip is looked for
_UNQUOTED = re.compile(r"""([A-Za-z0-9_-]+)\s*=\s*([+-]?[0-9][0-9.x]*\s*[A-Za-z%°][^\s,\#\]}]*)""")


class ConfigError(Exception):
    """The input is wrong; `problems` holds one line for each thing to put right."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = [plainly(problem) for problem in problems]
        super().__init__("\n".join(self.problems))


def load_airframe(path: str | Path, overrides: Sequence[str] = ()) -> Airframe:
    """The checked airframe of a file. Raises ConfigError with all problems."""
    return load(Airframe, path, overrides, airframe_problems)


def load_field(path: str | Path, overrides: Sequence[str] = ()) -> Field:
    """The checked field of a file. Raises ConfigError with all problems."""
    return load(Field, path, overrides)


def load(
    model: type[Model],
    path: str | Path,
    overrides: Sequence[str] = (),
    agreement: Callable[[Tree], Iterator[Problem]] | None = None,
) -> Model:
    """Read a file into a description; `agreement` finds what does not fit together."""
    text = _text(Path(path))
    tree, lines = _parse(text, str(path))
    tree, doubts = pointed(model, tree)
    if "units" in children(model) and isinstance(tree.get("units", {}), dict):
        tree["units"] = units_of(model, tree) | tree.get("units", {})
    origins, problems = _override(model, tree, overrides)
    found = doubts + (list(agreement(tree)) if agreement else [])
    described = None
    try:
        described = model.model_validate(tree)
    except ValidationError as error:
        found = [_problem(model, tree, e) for e in error.errors(include_url=False)] + found
    problems += _placed(found, str(path), lines, origins)
    if problems or described is None:
        raise ConfigError(problems)
    return described


def checked(model: type[Model], tree: Tree) -> Model:
    """The description of what no file holds yet. Raises ConfigError with all problems, by key."""
    try:
        return model.model_validate(tree)
    except ValidationError as error:
        found = (_problem(model, tree, e) for e in error.errors(include_url=False))
        raise ConfigError(f"{dotted(path)}: {text}" for path, text in found) from None


def find(kind: str, name: str) -> Path:
    """Where a config is: the path given, ./configs/<kind>/<name>.toml, the installed copy.

    `kind` is "airframes", "fields" or "hands". Raises ConfigError with near names.
    """
    given = Path(name)
    if given.is_file():
        return given
    if name.strip() and (given.suffix == ".toml" or len(given.parts) != 1):
        why = "not a file that can be read" if given.exists() else "no such file"
        raise ConfigError([f"{name}: {'is a directory' if given.is_dir() else why}"])
    folders = [Path("configs") / kind, _INSTALLED / kind]
    for folder in folders:
        if (folder / f"{name}.toml").is_file():
            return folder / f"{name}.toml"
    known = sorted({path.stem for folder in folders for path in folder.glob("*.toml")})
    noun = kind.removesuffix("s") if kind != "hands" else "hands file"
    meant = " ".join(filter(None, (nearest(name, known), "known: ")))
    told = f"{name}: no {noun} of that name; {meant}" if name.strip() else "'': wanted one of "
    raise ConfigError([f"{told}{', '.join(known)}"])


def fingerprint(description: BaseModel) -> str:
    """SHA-256 of the description's values in SI, the same for equal descriptions whatever units
    they are told in, whatever light they are seen in."""
    told = description.model_dump(mode="json", exclude={"units", "light"})
    canonical = json.dumps(told, sort_keys=True)
    return hashlib.sha256(canonical.encode()).hexdigest()


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise ConfigError([f"{path}:{line}: not UTF-8 text; save the file as UTF-8"]) from None
    except FileNotFoundError:
        raise ConfigError([f"{path}: no such file"]) from None
    except OSError as error:
        raise ConfigError([f"{path}: cannot be read: {error.strerror}"]) from None


def _parse(text: str, name: str) -> tuple[Tree, dict[KeyPath, int]]:
    try:
        return tomllib.loads(text), key_lines(text)
    except (ValueError, RecursionError) as error:
        message = str(error) if not isinstance(error, RecursionError) else "nested too deep"
        place = re.search(r" \(at line ([0-9]+), column ([0-9]+)\)$", message)
        line = int(place[1]) if place else text.rstrip("\n").count("\n") + 1
        told = message[: place.start()] if place else message.removesuffix(" (at end of document)")
        raise ConfigError([f"{name}:{line}: not TOML: {_syntax(told, text, line)}"]) from None


def _syntax(told: str, text: str, line: int) -> str:
    """The parser's words, or better ones for the two slips that builders make most."""
    twice = re.fullmatch(r"Cannot declare \((.*?),?\) twice", told)
    if twice:
        names = twice[1].replace("', '", ".").strip("'")
        return f"the table [{names}] stands twice"
    if told == "Cannot overwrite a value":
        return "this key stands twice"
    source = text.split("\n")[line - 1] if line <= text.count("\n") + 1 else ""
    curly = re.search("[“”„‘’]", source)
    if curly:
        return f'{curly[0]} is a curly quote, which word processors put in: write straight ones, "'
    bare = _UNQUOTED.search(source[:LONG])
    if bare:
        return f'{bare[1]}: {bare[2]}: put it in quotes, such as {bare[1]} = "{bare[2]}"'
    return told[:1].lower() + told[1:]


def _placed(
    found: Iterable[Problem], name: str, lines: dict[KeyPath, int], origins: set[KeyPath]
) -> list[str]:
    """The problems in the order of the file, overrides last, each only once."""
    told = []
    for path, text in found:
        if any(path[:n] in origins for n in range(len(path), 0, -1)):
            told.append((1, 0, f"--set {dotted(path)}: {text}"))
            continue
        line = next((lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in lines), 1)
        told.append((0, line, f"{name}:{line}: {dotted(path)}: {text}"))
    return list(dict.fromkeys(text for _, _, text in sorted(told, key=lambda t: t[:2])))


def _override(
    model: type[BaseModel], tree: Tree, overrides: Sequence[str]
) -> tuple[set[KeyPath], list[str]]:
    """Put the overrides into the tree; the paths set, and what was wrong with them."""
    origins: set[KeyPath] = set()
    problems: list[str] = []
    for override in overrides:
        name, equals, text = override.partition("=")
        path = tuple(part.strip().strip("\"'") for part in name.split("."))
        if not equals or not all(path):
            problems.append(
                f'--set {override}: wanted key=value, such as --set items.pack.aft="95 mm"'
            )
            continue
        wrong = _unknown(model, tree, path)
        if wrong:
            problems.append(f"--set {dotted(path)}: {wrong}")
            continue
        try:
            _put(tree, path, _value(text.strip()))
        except ValueError as error:
            problems.append(f"--set {dotted(path)}: {error}")
            continue
        origins.add(path)
    return origins, problems


def _unknown(model: type[BaseModel], tree: Any, path: tuple[str, ...]) -> str:
    """Why the path leads nowhere; empty when it leads to a value that can be set."""
    kind: Any = model
    for depth, key in enumerate(path):
        inner = model_of(kind)
        entries = mapped(kind)
        here = tree if isinstance(tree, dict) else {}
        if inner is not None:
            choices = list(inner.model_fields)
        elif entries is not None:
            choices = list(here)
        else:
            return f"'{dotted(path[:depth])}' has no parts; set it as a whole"
        if key not in choices:
            return f"no '{key}'{_inside(path[:depth])}; {did_you_mean(key, choices)}"
        kind = inner.model_fields[key].annotation if inner else entries
        tree = here.get(key)
    if model_of(kind) is not None or mapped(kind) is not None:
        return f"is a table; set one of its values, such as {dotted(path)}.{_some(kind, tree)}"
    return ""


def _inside(path: KeyPath) -> str:
    return f" in {dotted(path)}" if path else ""


def _some(kind: Any, tree: Any) -> str:
    choices = children(kind) or list(tree or ())
    return choices[0] if choices else "..."


def _put(tree: Tree, path: tuple[str, ...], value: Any) -> None:
    for key in path[:-1]:
        inner = tree.setdefault(key, {})
        if not isinstance(inner, dict):
            raise ValueError(f"'{key}' is no table in the file")
        tree = inner
    tree[path[-1]] = value


def _value(text: str) -> Any:
    """The value of an override: TOML where it looks like it, plain text otherwise."""
    if _WHOLE_NUMBER.fullmatch(text):
        return int(text)
    if _NUMBER.fullmatch(text):
        return float(text)
    if text in ("true", "false") or text[:1] in ('"', "'", "[", "{"):
        try:
            return tomllib.loads(f"value = {text}")["value"]
        except (ValueError, KeyError, RecursionError):
            raise ValueError(f"{text}: cannot be read as a value") from None
    return text


def _problem(model: type[BaseModel], tree: Tree, error: Any) -> Problem:
    """A pydantic error as the path of a key and a sentence: what was found, what is wanted."""
    path: KeyPath = tuple(error["loc"])
    kind, value, context = error["type"], error["input"], error.get("ctx", {})
    if kind == "quantity":
        commas = '; a file that writes commas says decimals = "comma"'
        may = "no comma" in error["msg"] and "decimals" in children(model)
        return path, error["msg"] + (commas if may else "")
    if kind == "value_error":
        return path, str(context["error"])
    if kind == "missing":
        return path, f"missing: wanted {_wanted(model, path)}"
    if kind == "extra_forbidden":
        keys = children(annotation_at(model, path[:-1]))
        free = [key for key in keys if not _has(tree, (*path[:-1], key))]
        return path, f"unknown key; {did_you_mean(str(path[-1]), free, keys)}"
    if kind in ("literal_error", "enum"):
        choices = re.findall(r"'([^']*)'", context["expected"])
        near = nearest(str(value), choices)
        wanted = f"{context['expected']}; {near}" if near else context["expected"]
        return path, f"{shown(value)}: wanted {wanted}"
    if kind == "too_short":
        return path, f"has {context['actual_length']}: wanted {context['min_length']} or more"
    if kind == "too_long":
        return path, f"too many: wanted {context['max_length']} or fewer"
    return path, f"{shown(value)}: wanted {_rule(kind, context, error['msg'])}"


def _rule(kind: str, context: dict[str, Any], message: str) -> str:
    rules = {
        "bool_type": "true or false, without quotes",
        "int_type": "a whole number, without quotes",
        "float_type": "a plain number, without quotes",
        "string_type": "text in quotes",
        "model_type": "a table",
        "dict_type": "a table of named entries",
        "tuple_type": "a list",
        "string_too_long": f"{context.get('max_length')} characters or fewer",
        "words": message.removeprefix("wanted "),
        "greater_than_equal": f"{context.get('ge')} or more",
        "less_than_equal": f"{context.get('le')} or less",
        "finite_number": "a finite number",
    }
    return rules.get(kind, message[:1].lower() + message[1:])


def _wanted(model: type[BaseModel], path: KeyPath) -> str:
    inner = annotation_at(model, path)
    if all(isinstance(key, int) for key in path[-1:]):
        return 'a pair of lengths, such as ["0 mm", "350 mm"]'
    if model_of(inner) is not None or mapped(inner) is not None:
        return f"a table [{dotted(path)}]"
    value = toml_value(example(annotation_at(model, path[:-1]), str(path[-1])))
    return f"a value, such as {path[-1]} = {value}"


def _has(tree: Any, path: KeyPath) -> bool:
    for key in path:
        if not isinstance(tree, dict) or key not in tree:
            return False
        tree = tree[key]
    return True
