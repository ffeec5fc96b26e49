"""Whole-number constants written out where they are used, before the modules are compiled.

MicroPython's compiler does this for `const()` inside one module. Ours are shared by many modules, and each name costs heap and
flash in every module that knows it. Lines stay where they are, so that a traceback still tells the right ones.
"""

import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

ROUNDS = 8  # a constant may be made of others, across as many modules


@dataclass
class _Module:
    name: str
    is_package: bool
    text: str
    tree: ast.Module
    bound: Counter[str]  # how often each name is bound, anywhere in the module
    constants: dict[str, int] = field(default_factory=dict)
    imported: dict[str, tuple[str, str]] = field(default_factory=dict)  # local name -> (module, name there)
    aliases: dict[str, str] = field(default_factory=dict)  # local name -> module


@dataclass(frozen=True)
class _Edit:
    first_line: int
    begin: int
    last_line: int
    end: int
    text: str


def folded(sources: dict[str, str]) -> dict[str, str]:
    """The sources, path to text, with the constants written out; a definition that nobody reads any more is left out.

    A constant is a name in capitals, bound once, at the top of its module, to whole numbers and other constants. What is read
    in any other way than by its plain name, by an import from its module or as an attribute of its module stays defined.
    """
    modules = {module.name: module for module in (_read(path, text) for path, text in sources.items())}
    for module in modules.values():
        _find_imports(module, modules)
    for _ in range(ROUNDS):
        for module in modules.values():
            _find_constants(module, modules)
    kept = _read_otherwise(modules)
    return {path: _rewrite(modules[_module_name(path)], modules, kept) for path in sources}


def _module_name(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _read(path: str, text: str) -> _Module:
    tree = ast.parse(text, path)
    return _Module(_module_name(path), path.endswith("/__init__.py"), text, tree, _bindings(tree))


def _origin(module: _Module, statement: ast.ImportFrom) -> str:
    """The full name of the module or package that an import is from."""
    if statement.level == 0:
        return statement.module or ""
    parts = module.name.split(".")
    parts = parts[: len(parts) - statement.level + (1 if module.is_package else 0)]
    return ".".join([*parts, *([statement.module] if statement.module else [])])


def _find_imports(module: _Module, modules: dict[str, _Module]) -> None:
    for statement in module.tree.body:
        if isinstance(statement, ast.ImportFrom):
            origin = _origin(module, statement)
            for name in statement.names:
                here = name.asname or name.name
                if f"{origin}.{name.name}" in modules:
                    module.aliases[here] = f"{origin}.{name.name}"
                elif origin in modules:
                    module.imported[here] = (origin, name.name)


def _definition(statement: ast.stmt) -> tuple[str, ast.expr] | None:
    if isinstance(statement, ast.Assign) and len(statement.targets) == 1:
        target, value = statement.targets[0], statement.value
    elif isinstance(statement, ast.AnnAssign) and statement.value is not None:
        target, value = statement.target, statement.value
    else:
        return None
    return (target.id, value) if isinstance(target, ast.Name) and target.id.isupper() else None


def _find_constants(module: _Module, modules: dict[str, _Module]) -> None:
    for statement in module.tree.body:
        found = _definition(statement)
        if found is not None and module.bound[found[0]] == 1:
            value = _value(found[1], module, modules)
            if value is not None:
                module.constants[found[0]] = value


def _bindings(tree: ast.Module) -> Counter[str]:
    """A name bound twice is no constant, nor one that a function calls its own. Imports are looked at elsewhere."""
    nodes = list(ast.walk(tree))
    names = Counter(node.id for node in nodes if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Load))
    names.update(node.arg for node in nodes if isinstance(node, ast.arg))
    return names


def _value(node: ast.expr, module: _Module, modules: dict[str, _Module]) -> int | None:
    if isinstance(node, ast.Constant) and type(node.value) is int:
        return node.value
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inner = _value(node.operand, module, modules)
        return None if inner is None else -inner
    if isinstance(node, ast.BinOp):
        left, right = _value(node.left, module, modules), _value(node.right, module, modules)
        return None if left is None or right is None else _computed(node.op, left, right)
    return _looked_up(node, module, modules)


def _computed(operation: ast.operator, left: int, right: int) -> int | None:
    match operation:
        case ast.Add():
            return left + right
        case ast.Sub():
            return left - right
        case ast.Mult():
            return left * right
        case ast.FloorDiv() if right:
            return left // right
        case ast.LShift() if 0 <= right < 64:
            return left << right
        case ast.BitOr():
            return left | right
    return None


def _looked_up(node: ast.expr, module: _Module, modules: dict[str, _Module]) -> int | None:
    """The value of a constant that is read here by one of the three ways, None for anything else."""
    if isinstance(node, ast.Name):
        if node.id in module.constants:
            return module.constants[node.id]
        if node.id in module.imported and node.id not in module.bound:
            origin, name = module.imported[node.id]
            return modules[origin].constants.get(name)
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in module.aliases:
        return modules[module.aliases[node.value.id]].constants.get(node.attr)
    return None


def _reads(module: _Module, modules: dict[str, _Module]) -> Iterator[tuple[ast.expr, int]]:
    """Every place where a constant's value can be written instead, and the value."""
    waiting = _beside_constants(module)
    while waiting:
        node = waiting.pop()
        # Where the parts of an f-string stand is not told truly.
        if isinstance(node, ast.JoinedStr):
            continue
        if isinstance(node, ast.Name | ast.Attribute) and isinstance(node.ctx, ast.Load):
            value = _looked_up(node, module, modules)
            if value is not None:
                yield node, value
                continue
        waiting.extend(ast.iter_child_nodes(node))


def _beside_constants(module: _Module) -> list[ast.AST]:
    """The statements at the top of a module that do not define a constant."""
    return [statement for statement in module.tree.body if not _is_constant(statement, module)]


def _is_constant(statement: ast.stmt, module: _Module) -> bool:
    found = _definition(statement)
    return found is not None and found[0] in module.constants


def _read_otherwise(modules: dict[str, _Module]) -> set[str]:
    """Names that something reads in another way: as an attribute of who knows what, in an f-string, by a text."""
    names: set[str] = set()
    for module in modules.values():
        replaced = {id(node) for node, _ in _reads(module, modules)}
        waiting = _beside_constants(module)
        while waiting:
            node = waiting.pop()
            if id(node) in replaced:
                continue
            if isinstance(node, ast.Attribute):
                names.add(node.attr)
            elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                names.add(node.id)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                names.add(node.value)
            waiting.extend(ast.iter_child_nodes(node))
    return names


def _rewrite(module: _Module, modules: dict[str, _Module], kept: set[str]) -> str:
    edits = [_edit(node, f"({value})" if value < 0 else str(value)) for node, value in _reads(module, modules)]
    for statement in module.tree.body:
        found = _definition(statement)
        if found is not None and found[0] in module.constants and found[0] not in kept:
            edits.append(_edit(statement, ""))
        elif isinstance(statement, ast.ImportFrom):
            left = [name for name in statement.names if not _is_written_out(module, modules, name, kept)]
            if len(left) < len(statement.names):
                edits.append(_edit(statement, _import_text(statement, left) if left else ""))
    return _edited(module.text, edits)


def _is_written_out(module: _Module, modules: dict[str, _Module], name: ast.alias, kept: set[str]) -> bool:
    here = name.asname or name.name
    return here not in kept and _looked_up(ast.Name(here, ast.Load()), module, modules) is not None


def _import_text(statement: ast.ImportFrom, names: list[ast.alias]) -> str:
    return ast.unparse(ast.ImportFrom(statement.module, names, statement.level))


def _edit(node: ast.expr | ast.stmt, text: str) -> _Edit:
    return _Edit(node.lineno, node.col_offset, node.end_lineno or node.lineno, node.end_col_offset or 0, text)


def _edited(text: str, edits: list[_Edit]) -> str:
    """The text with the edits made, every line where it was. Columns are bytes of UTF-8, as `ast` counts them."""
    lines = text.encode().split(b"\n")
    for edit in sorted(edits, key=lambda edit: (edit.first_line, edit.begin), reverse=True):
        joined = lines[edit.first_line - 1][: edit.begin] + edit.text.encode() + lines[edit.last_line - 1][edit.end :]
        lines[edit.first_line - 1 : edit.last_line] = [joined] + [b""] * (edit.last_line - edit.first_line)
    return b"\n".join(lines).decode()
