"""Write kernels out in C from their own syntax trees.

The subset: numbers, loops over `range`, `while`, `if`, arrays given by the caller or of a fixed
size, named tuples of these, other kernels, and the functions of `math` listed here. Anything else
is refused by name, with its file and line (`OutsideError`).

Two rules keep the arithmetic that of the Python: each expression keeps its order and brackets, and
`min` and `max` keep the first of two where neither is beyond the other, as Python does.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import math
from pathlib import Path
from typing import Any

import numpy as np

from kinds import (
    BOOL,
    DOUBLE,
    ELEMENTS,
    INT,
    Array,
    Kind,
    Record,
    Scalar,
    is_record,
    kind_of_words,
    plain_tuple,
    record_of,
)
from towscope.towing.elementary import parted

FUNCTIONS = {
    "sqrt", "exp", "log", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "hypot", "pow",
    "erfc", "copysign", "fabs",
}  # fmt: skip
WHOLE = {"ceil", "floor"}
PARTS = {"frexp", "ldexp"}
TESTS = {"isnan", "isfinite", "isinf"}
OPERATORS = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*"}
COMPARED = {
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!=",
}  # fmt: skip
HEAD = """/* Written by tools/core from the kernels of towscope; not to be edited. */
#include <math.h>
#include <stdint.h>
#ifdef __wasm__
typedef int32_t I;
#else
typedef int64_t I;
#endif
typedef struct { double e0_; I e1_; } T_double_I;
static inline T_double_I frexp_of(double x) {
    int e;
    double m = frexp(x, &e);
    return (T_double_I){m, e};
}
static inline T_double_I parted_of(double x) {
    int e;
    double m = frexp(x, &e);
    return m < 0.7071067811865476 ? (T_double_I){2.0 * m, e - 1} : (T_double_I){m, e};
}
static inline double least(double a, double b) { return b < a ? b : a; }
static inline double most(double a, double b) { return b > a ? b : a; }
static inline I least_whole(I a, I b) { return b < a ? b : a; }
static inline I most_whole(I a, I b) { return b > a ? b : a; }
static inline double squared(double a) { return a * a; }
static inline I size_of(I a) { return a < 0 ? -a : a; }
static inline I floored(I a, I b) {
    I q = a / b;
    return (a % b != 0 && (a < 0) != (b < 0)) ? q - 1 : q;
}
static inline I left_over(I a, I b) { return a - b * floored(a, b); }
"""


class OutsideError(Exception):
    """Something that kernels may not have; says what, and where."""


class Book:
    """All that is written: kernels and the kinds they need, each once, in order of need."""

    def __init__(self) -> None:
        self.records: dict[str, str] = {"T_double_I": ""}  # in the head
        self.arrays: dict[str, str] = {}
        self.constants: dict[str, str] = {}
        self.kernels: dict[str, str] = {}
        self.modules: set[str] = set()
        self.promised: dict[str, str] = {}

    def text(self) -> str:
        """Give the C."""
        parts = (self.arrays, self.records, self.constants, self.promised, self.kernels)
        return HEAD + "\n".join(text for part in parts for text in part.values())

    def need(self, kind: Kind) -> str:
        """Declare a kind, and give its name."""
        if isinstance(kind, Array) and kind.c not in self.arrays:
            sizes = " ".join(f"I n{i};" for i in range(kind.rank))
            element = ELEMENTS[kind.element]
            self.arrays[kind.c] = f"typedef struct {{ {element} *p; {sizes} }} {kind.c};"
        if isinstance(kind, Record) and kind.c not in self.records:
            fields = " ".join(f"{self.need(each)} {name}_;" for name, each in kind.fields)
            self.records[kind.c] = f"typedef struct {{ {fields} }} {kind.c};"
        return kind.c

    def constant(self, name: str, value: np.ndarray[Any, Any]) -> str:
        """Write an array of constants, and give its name."""
        if name not in self.constants:
            sizes = "".join(f"[{n}]" for n in value.shape)
            text = ", ".join(repr(float(x)) for x in value.ravel())
            self.constants[name] = f"static const double {name}{sizes} = {{{text}}};"
        return name

    def kernel(self, function: Any) -> tuple[str, list[tuple[str, Kind]], Kind | None]:
        """Write a kernel and all that it calls; give its name, parameters and result."""
        bare = getattr(function, "py_func", function)  # some need no compiling here
        self.modules.add(bare.__module__)
        name = f"{bare.__module__.rsplit('.', 1)[-1]}_{bare.__name__}".replace("__", "_own_")
        writer = _Writer(self, bare)
        if name not in self.promised:
            result = "void" if writer.result is None else self.need(writer.result)
            given = ", ".join(f"{self.need(kind)} {each}_" for each, kind in writer.parameters)
            inline = "inline " if getattr(function, "inlined", False) else ""
            head = f"static {inline}{result} {name}({given})"
            self.promised[name] = head + ";"
            body = writer.body()
            self.kernels[name] = f"{head} {{\n{body}}}\n"
        return name, writer.parameters, writer.result


def tree_of(function: Any) -> tuple[ast.FunctionDef, str]:
    """Give a function's syntax tree with the lines of its file, and that file."""
    file = inspect.getsourcefile(function)
    assert file is not None
    for node in ast.parse(Path(file).read_text()).body:
        if isinstance(node, ast.FunctionDef) and node.name == function.__name__:
            return node, file
    raise OutsideError(f"{file}: {function.__name__} is no function of its module; kernels must be")


class _Writer:
    """Write one kernel."""

    def __init__(self, book: Book, function: Any) -> None:
        self.book = book
        self.node, self.file = tree_of(function)
        self.module = function.__module__
        self.globals = vars(importlib.import_module(self.module))
        self.parameters: list[tuple[str, Kind]] = []
        a = self.node.args
        if a.vararg or a.kwarg or a.kwonlyargs or a.defaults or a.posonlyargs:
            raise self.refuse(self.node, "a parameter that is not plain")
        for argument in a.args:
            self.parameters.append((argument.arg, self.kind_at(argument, argument.annotation)))
        none = isinstance(self.node.returns, ast.Constant) and self.node.returns.value is None
        self.result = None if none else self.kind_at(self.node, self.node.returns)
        self.kinds: dict[str, Kind] = dict(self.parameters)
        self.own: dict[str, Kind] = {}
        self.stores: dict[str, tuple[int, ...]] = {}
        self.count = 0

    def refuse(self, node: ast.AST, what: str) -> OutsideError:
        """Give what is to be raised, with its place."""
        line = getattr(node, "lineno", self.node.lineno)
        raise OutsideError(
            f"{self.file}:{line}: {what}, in {self.node.name}: outside what kernels may have"
        )

    def kind_at(self, node: ast.AST, annotation: ast.expr | None) -> Kind:
        words = "" if annotation is None else ast.unparse(annotation).strip("'\"")
        kind = kind_of_words(words, self.module)
        if kind is None:
            raise self.refuse(node, f"annotation {words or 'missing'}")
        self.book.need(kind)
        return kind

    # the whole

    def body(self) -> str:
        """Give the body: what names are first, twice at least, until nothing new is learnt."""
        statements = self.node.body
        if isinstance(statements[0], ast.Expr) and isinstance(statements[0].value, ast.Constant):
            statements = statements[1:]
        text = ""
        for _ in range(6):
            before = dict(self.own)
            self.count = 0
            text = self.block(statements, 1)
            if self.own == before:
                break
        else:
            raise self.refuse(self.node, "names whose kinds do not settle")
        declared = []
        for name, kind in self.own.items():
            if name in self.stores:
                sizes = self.stores[name]
                store = f"static_{name}"
                declared.append(f"    {ELEMENTS['double']} {store}[{math.prod(sizes)}];\n")
                shape = ", ".join(str(n) for n in sizes)
                declared.append(f"    {self.book.need(kind)} {name}_ = {{{store}, {shape}}};\n")
            else:
                declared.append(f"    {self.book.need(kind)} {name}_;\n")
        return "".join(declared) + text

    def block(self, statements: list[ast.stmt], depth: int) -> str:
        return "".join(self.statement(s, depth) for s in statements)

    def fresh(self) -> str:
        self.count += 1
        return f"t{self.count}"

    # names

    def learn(self, node: ast.AST, name: str, kind: Kind) -> None:
        """Note what a name is; a whole number that is also a fraction becomes one."""
        known = self.kinds.get(name)
        if known is None or known == kind:
            new = kind
        elif isinstance(known, Scalar) and isinstance(kind, Scalar):
            new = self.joint(known, kind)
        else:
            raise self.refuse(node, f"the name {name} for two kinds ({known.c} and {kind.c})")
        if dict(self.parameters).get(name) not in (None, new):
            raise self.refuse(node, f"the parameter {name} given another kind")
        self.kinds[name] = new
        if name not in dict(self.parameters):
            self.own[name] = new

    @staticmethod
    def joint(a: Scalar, b: Scalar) -> Scalar:
        if DOUBLE in (a, b):
            return DOUBLE
        return BOOL if a == b == BOOL else INT

    # statements

    def statement(self, s: ast.stmt, depth: int) -> str:
        pad = "    " * depth
        if isinstance(s, ast.Assign):
            return self.assignment(s, depth)
        if isinstance(s, ast.AnnAssign) and s.value is not None:
            return self.put(s.target, *self.expression(s.value), pad)
        if isinstance(s, ast.AugAssign):
            value = ast.copy_location(ast.BinOp(s.target, s.op, s.value), s)
            return self.put(s.target, *self.expression(value), pad)
        if isinstance(s, ast.If):
            text = (
                f"{pad}if ({self.expression(s.test)[0]}) {{\n{self.block(s.body, depth + 1)}{pad}}}"
            )
            if s.orelse:
                text += f" else {{\n{self.block(s.orelse, depth + 1)}{pad}}}"
            return text + "\n"
        if isinstance(s, ast.While) and not s.orelse:
            test = self.expression(s.test)[0]
            return f"{pad}while ({test}) {{\n{self.block(s.body, depth + 1)}{pad}}}\n"
        if isinstance(s, ast.For) and not s.orelse:
            return self.loop(s, depth)
        if isinstance(s, ast.Break):
            return f"{pad}break;\n"
        if isinstance(s, ast.Continue):
            return f"{pad}continue;\n"
        if isinstance(s, ast.Pass):
            return f"{pad};\n"
        if isinstance(s, ast.Return):
            return self.answer(s, pad)
        if isinstance(s, ast.Expr) and isinstance(s.value, ast.Call):
            return f"{pad}{self.call(s.value)[0]};\n"
        raise self.refuse(s, f"the statement {type(s).__name__}")

    def answer(self, s: ast.Return, pad: str) -> str:
        if s.value is None:
            return f"{pad}return;\n"
        if self.result is None:
            raise self.refuse(s, "a result that is not announced")
        code, kind = self.expression(s.value)
        if isinstance(self.result, Record) and kind != self.result:
            if not isinstance(s.value, ast.Tuple) or len(s.value.elts) != len(self.result.fields):
                raise self.refuse(s, f"a result of another kind than {self.result.c}")
            parts = ", ".join(self.expression(e)[0] for e in s.value.elts)
            return f"{pad}return ({self.result.c}){{{parts}}};\n"
        return f"{pad}return {code};\n"

    def loop(self, s: ast.For, depth: int) -> str:
        pad = "    " * depth
        call = s.iter
        if not (isinstance(call, ast.Call) and ast.unparse(call.func) == "range"):
            raise self.refuse(s, f"a loop over {ast.unparse(call)}")
        if not isinstance(s.target, ast.Name):
            raise self.refuse(s, f"the loop's target {ast.unparse(s.target)}")
        bounds = [self.expression(a)[0] for a in call.args]
        step = 1
        if len(bounds) == 3:
            last = call.args[2]
            if not (
                isinstance(last, ast.UnaryOp)
                and isinstance(last.op, ast.USub)
                and isinstance(last.operand, ast.Constant)
                and last.operand.value == 1
            ):
                raise self.refuse(s, f"a step of {ast.unparse(last)}")
            step = -1
        low, high = ("0", bounds[0]) if len(bounds) == 1 else (bounds[0], bounds[1])
        self.learn(s, s.target.id, INT)
        at, end = self.fresh(), self.fresh()
        how = f"{at} < {end}; {at}++" if step > 0 else f"{at} > {end}; {at}--"
        inner = self.block(s.body, depth + 1)
        name = f"{s.target.id}_"
        return (
            f"{pad}for (I {at} = {low}, {end} = {high}; {how}) {{\n"
            f"{pad}    {name} = {at};\n{inner}{pad}}}\n"
        )

    def assignment(self, s: ast.Assign, depth: int) -> str:
        pad = "    " * depth
        store = self.store(s)
        if store is not None:
            return ""
        if len(s.targets) == 1 and not isinstance(s.targets[0], ast.Tuple):
            return self.put(s.targets[0], *self.expression(s.value), pad)
        inner = pad + "    "
        text = f"{pad}{{\n"
        for target in s.targets:
            if not isinstance(target, ast.Tuple):
                continue
            if isinstance(s.value, ast.Tuple):
                parts = [self.expression(v) for v in s.value.elts]
                names = [self.fresh() for _ in parts]
                for name, (code, kind) in zip(names, parts, strict=True):
                    text += f"{inner}{self.book.need(kind)} {name} = {code};\n"
                values = [(n, kind) for n, (_, kind) in zip(names, parts, strict=True)]
            else:
                code, kind = self.expression(s.value)
                if not isinstance(kind, Record):
                    raise self.refuse(s, f"{ast.unparse(s.value)} taken apart")
                name = self.fresh()
                text += f"{inner}{self.book.need(kind)} {name} = {code};\n"
                values = [(f"{name}.{field}_", each) for field, each in kind.fields]
            if len(values) != len(target.elts):
                raise self.refuse(s, f"{len(values)} values for {len(target.elts)} names")
            for each, value in zip(target.elts, values, strict=True):
                text += self.put(each, *value, inner)
        plain = [target for target in s.targets if not isinstance(target, ast.Tuple)]
        if plain:
            code, kind = self.expression(s.value)
            name = self.fresh()
            text += f"{inner}{self.book.need(kind)} {name} = {code};\n"
            text += "".join(self.put(target, name, kind, inner) for target in plain)
        return text + f"{pad}}}\n"

    def store(self, s: ast.Assign) -> tuple[int, ...] | None:
        """Make room of a fixed size where `np.empty` is asked for it."""
        call = s.value
        if not (isinstance(call, ast.Call) and ast.unparse(call.func) == "np.empty"):
            return None
        target = s.targets[0]
        if len(s.targets) > 1 or not isinstance(target, ast.Name) or len(call.args) != 1:
            raise self.refuse(s, "np.empty other than as the one value of a name")
        wanted = call.args[0].elts if isinstance(call.args[0], ast.Tuple) else [call.args[0]]
        sizes = []
        for each in wanted:
            value = each.value if isinstance(each, ast.Constant) else None
            if isinstance(each, ast.Name) and each.id not in self.kinds:
                value = self.globals.get(each.id)
            if not isinstance(value, int):
                raise self.refuse(s, f"room for {ast.unparse(each)}, which is not a fixed size")
            sizes.append(value)
        self.learn(s, target.id, Array("double", len(sizes)))
        self.stores[target.id] = tuple(sizes)
        return tuple(sizes)

    def put(self, target: ast.expr, code: str, kind: Kind, pad: str) -> str:
        if isinstance(target, ast.Name):
            self.learn(target, target.id, kind)
            return f"{pad}{target.id}_ = {code};\n"
        if isinstance(target, ast.Subscript):
            place, own = self.subscript(target)
            if not (isinstance(own, Scalar) and isinstance(kind, Scalar)):
                raise self.refuse(target, f"{ast.unparse(target)} set as a whole")
            return f"{pad}{place} = {code};\n"
        raise self.refuse(target, f"the target {ast.unparse(target)}")

    # expressions

    def expression(self, e: ast.expr) -> tuple[str, Kind]:
        if isinstance(e, ast.Constant):
            return self.constant(e, e.value)
        if isinstance(e, ast.Name):
            return self.name(e)
        if isinstance(e, ast.BinOp):
            return self.operation(e)
        if isinstance(e, ast.UnaryOp):
            code, kind = self.expression(e.operand)
            if isinstance(e.op, ast.Not):
                return f"(!{code})", BOOL
            if isinstance(e.op, ast.USub) and isinstance(kind, Scalar):
                return f"(-{code})", kind
            raise self.refuse(e, f"the operator {type(e.op).__name__}")
        if isinstance(e, ast.BoolOp):
            joint = " && " if isinstance(e.op, ast.And) else " || "
            parts = [self.expression(v) for v in e.values]
            if any(kind != BOOL for _, kind in parts):
                raise self.refuse(e, "and, or of what is not yes or no")
            return "(" + joint.join(code for code, _ in parts) + ")", BOOL
        if isinstance(e, ast.Compare):
            return self.comparison(e)
        if isinstance(e, ast.IfExp):
            (yes, a), (no, b) = self.expression(e.body), self.expression(e.orelse)
            test = self.expression(e.test)[0]
            if a != b and isinstance(a, Scalar) and isinstance(b, Scalar):
                return f"({test} ? {yes} : {no})", self.joint(a, b)
            if a != b:
                raise self.refuse(e, "a choice of two kinds")
            return f"({test} ? {yes} : {no})", a
        if isinstance(e, ast.Call):
            return self.call(e)
        if isinstance(e, ast.Attribute):
            return self.attribute(e)
        if isinstance(e, ast.Subscript):
            return self.subscript(e)
        if isinstance(e, ast.Tuple):
            parts = [self.expression(v) for v in e.elts]
            kind = plain_tuple([kind for _, kind in parts])
            assert kind is not None
            self.book.need(kind)
            return f"({kind.c}){{{', '.join(code for code, _ in parts)}}}", kind
        raise self.refuse(e, f"the expression {type(e).__name__}")

    def constant(self, e: ast.AST, value: object) -> tuple[str, Kind]:
        if isinstance(value, bool):
            return str(int(value)), BOOL
        if isinstance(value, int):
            return str(value), INT
        if isinstance(value, float):
            if math.isfinite(value):
                return repr(value), DOUBLE
            return (
                "NAN" if math.isnan(value) else "INFINITY" if value > 0 else "-INFINITY"
            ), DOUBLE
        raise self.refuse(e, f"the constant {value!r}")

    def name(self, e: ast.Name) -> tuple[str, Kind]:
        if e.id in self.kinds:
            return f"{e.id}_", self.kinds[e.id]
        if e.id not in self.globals:
            raise self.refuse(e, f"the name {e.id}, used before it is set")
        value = self.globals[e.id]
        if isinstance(value, np.ndarray):
            return self.book.constant(f"{self.module.rsplit('.', 1)[-1]}{e.id}", value), Array(
                "constant", value.ndim
            )
        return self.constant(e, value)

    def operation(self, e: ast.BinOp) -> tuple[str, Kind]:
        (left, a), (right, b) = self.expression(e.left), self.expression(e.right)
        if not (isinstance(a, Scalar) and isinstance(b, Scalar)):
            raise self.refuse(e, f"arithmetic with {a.c} and {b.c}")
        kind = INT if DOUBLE not in (a, b) else DOUBLE
        if type(e.op) in OPERATORS:
            return f"({left} {OPERATORS[type(e.op)]} {right})", kind
        if isinstance(e.op, ast.Div):
            return f"((double){left} / {right})", DOUBLE
        if isinstance(e.op, ast.Pow):
            if isinstance(e.right, ast.Constant) and e.right.value == 2:
                return f"squared({left})", DOUBLE
            return f"pow({left}, {right})", DOUBLE
        if kind == INT and isinstance(e.op, ast.FloorDiv):
            return f"floored({left}, {right})", INT
        if kind == INT and isinstance(e.op, ast.Mod):
            return f"left_over({left}, {right})", INT
        raise self.refuse(e, f"the operator {type(e.op).__name__}")

    def comparison(self, e: ast.Compare) -> tuple[str, Kind]:
        values = [self.expression(v)[0] for v in (e.left, *e.comparators)]
        tests = []
        for i, op in enumerate(e.ops):
            if type(op) not in COMPARED:
                raise self.refuse(e, f"the comparison {type(op).__name__}")
            tests.append(f"({values[i]} {COMPARED[type(op)]} {values[i + 1]})")
        return "(" + " && ".join(tests) + ")", BOOL

    def attribute(self, e: ast.Attribute) -> tuple[str, Kind]:
        words = ast.unparse(e)
        if words in ("math.pi", "math.inf", "math.nan", "np.inf", "np.nan", "np.pi"):
            return self.constant(e, getattr(math, e.attr))
        code, kind = self.expression(e.value)
        own = kind.kind_of(e.attr) if isinstance(kind, Record) else None
        if own is None:
            raise self.refuse(e, words)
        return f"{code}.{e.attr}_", own

    def subscript(self, e: ast.Subscript) -> tuple[str, Kind]:
        if isinstance(e.value, ast.Attribute) and e.value.attr == "shape":
            code, kind = self.expression(e.value.value)
            if not (isinstance(kind, Array) and isinstance(e.slice, ast.Constant)):
                raise self.refuse(e, ast.unparse(e))
            return f"{code}.n{e.slice.value}", INT
        code, kind = self.expression(e.value)
        if isinstance(kind, Record) and isinstance(e.slice, ast.Constant):
            field, own = kind.fields[e.slice.value]
            return f"{code}.{field}_", own
        if not isinstance(kind, Array):
            raise self.refuse(e, f"{ast.unparse(e)}, an index into what is no array")
        indices = e.slice.elts if isinstance(e.slice, ast.Tuple) else [e.slice]
        parts = []
        for index in indices:
            if isinstance(index, ast.Slice):
                raise self.refuse(e, f"{ast.unparse(e)}, a slice")
            if isinstance(index, ast.UnaryOp) and isinstance(index.op, ast.USub):
                raise self.refuse(e, f"{ast.unparse(e)}, an index counted from the end")
            own_code, own = self.expression(index)
            if own not in (INT, BOOL):
                raise self.refuse(e, f"{ast.unparse(e)}, an index that is not whole")
            parts.append(own_code)
        if len(parts) > kind.rank:
            raise self.refuse(e, f"{ast.unparse(e)}, more indices than the array has")
        if kind.element == "constant":
            if len(parts) < kind.rank:
                raise self.refuse(e, f"{ast.unparse(e)}, part of an array of constants")
            return code + "".join(f"[{part}]" for part in parts), DOUBLE
        where = parts[0]
        for i, part in enumerate(parts[1:], 1):
            where = f"({where}) * {code}.n{i} + {part}"
        if len(parts) == kind.rank:
            return f"{code}.p[{where}]", INT if kind.element == "int" else DOUBLE
        rest = [f"{code}.n{i}" for i in range(len(parts), kind.rank)]
        left = Array(kind.element, kind.rank - len(parts))
        self.book.need(left)
        far = " * ".join(f"({each})" for each in (where, *rest))
        return f"({left.c}){{{code}.p + {far}, {', '.join(rest)}}}", left

    def call(self, e: ast.Call) -> tuple[str, Kind]:
        if e.keywords or any(isinstance(a, ast.Starred) for a in e.args):
            raise self.refuse(e, f"{ast.unparse(e)}: arguments by keyword or from a list")
        words = ast.unparse(e.func)
        known = self.simple(e, words)
        if known is not None:
            return known
        value = self.globals.get(words)
        if is_record(value):
            kind = record_of(value)
            if kind is None:
                raise self.refuse(e, f"{words}, with a field of no kind that kernels may have")
            given = self.arguments(e, [own for _, own in kind.fields])
            self.book.need(kind)
            return f"({kind.c}){{{', '.join(given)}}}", kind
        if not hasattr(value, "py_func"):
            raise self.refuse(e, f"a call of {words}, which is no kernel")
        if value is parted:
            given = self.arguments(e, [DOUBLE])
            kind = plain_tuple([DOUBLE, INT])
            assert kind is not None
            return f"parted_of({given[0]})", kind
        name, parameters, result = self.book.kernel(value)
        given = self.arguments(e, [own for _, own in parameters])
        return f"{name}({', '.join(given)})", result if result is not None else BOOL

    def arguments(self, e: ast.Call, wanted: list[Kind]) -> list[str]:
        given = [self.expression(a) for a in e.args]
        if len(given) != len(wanted):
            raise self.refuse(e, f"{len(given)} arguments for {len(wanted)}")
        for argument, (_, kind), own in zip(e.args, given, wanted, strict=True):
            if kind != own and not (isinstance(kind, Scalar) and own == DOUBLE):
                raise self.refuse(
                    e, f"{ast.unparse(argument)}, a {kind.c} where a {own.c} is wanted"
                )
        return [code for code, _ in given]

    def simple(self, e: ast.Call, words: str) -> tuple[str, Kind] | None:
        """Write a call of what Python brings; None where it is none of that."""
        bare = words.removeprefix("math.")
        builtin = words in ("min", "max", "abs", "int", "float", "round", "np.floor")
        if not builtin and not (
            words.startswith("math.") and bare in FUNCTIONS | WHOLE | TESTS | PARTS
        ):
            return None
        given = [self.expression(a) for a in e.args]
        codes, kinds = [code for code, _ in given], [kind for _, kind in given]
        if any(not isinstance(kind, Scalar) for kind in kinds):
            raise self.refuse(e, f"{words} of what is no number")
        whole = DOUBLE not in kinds
        if words in ("min", "max"):
            name = {"min": "least", "max": "most"}[words] + ("_whole" if whole else "")
            code = codes[0]
            for other in codes[1:]:
                code = f"{name}({code}, {other})"
            return code, INT if whole else DOUBLE
        if words == "math.frexp":
            kind = plain_tuple([DOUBLE, INT])
            assert kind is not None
            self.book.need(kind)
            return f"frexp_of({codes[0]})", kind
        if words == "math.ldexp":
            return f"ldexp({codes[0]}, (int){codes[1]})", DOUBLE
        if words == "abs":
            return f"{'size_of' if whole else 'fabs'}({codes[0]})", INT if whole else DOUBLE
        if words == "int":
            return f"((I){codes[0]})", INT
        if words == "float":
            return f"((double){codes[0]})", DOUBLE
        if words == "np.floor":
            return f"floor({codes[0]})", DOUBLE
        if words == "round":
            return f"((I)rint({codes[0]}))", INT
        if bare in WHOLE:
            return f"((I){bare}({codes[0]}))", INT
        return f"{bare}({', '.join(codes)})", BOOL if bare in TESTS else DOUBLE
