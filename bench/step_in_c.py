"""Write the moving engine's step out in C and build it with gcc -O3, to see how far from C it is.

The C is made from the kernels' own syntax trees, so that it is the same arithmetic, line by line;
only the loop over time steps around it is written by hand.
"""

from __future__ import annotations

import ast
import ctypes
import inspect
import subprocess
import tempfile
import textwrap
from pathlib import Path
from typing import Any

import numpy as np

from towscope.towing import drag, moving_kernels, steady

WIDTH = {"place": 3, "before": 3, "rate": 3, "pieces": 8, "current": 3, "flow": 3, "work": 16}
INTEGERS = {"n", "j", "p", "attempt", "end", "rough", "count", "k"}
FLAT = {"knots", "part", "stiffness", "lure", "medium", "drift", "air", "pull", "row"}
TUPLES = {"line_slopes": 7, "wet_share": 3, "stream": 2, "advance": 2}
CALLS = {
    "math.sqrt": "sqrt",
    "math.exp": "exp",
    "math.log": "log",
    "max": "fmax",
    "min": "fmin",
    "abs": "fabs",
}
LOOP = """
/* Many steps behind a path of the tip; gives the Newton steps taken. */
long travel(double *knots, long *part, double *pieces, double *stiffness, double *lure,
            double *medium, double *current, long current_rows, double *drift, double *air,
            double *place, double *rate, double *pull, long count, double let_out, double dt,
            double last, double *tips, long steps, double *before, double *work)
{
    long total = 0, n = count - 1;
    double ret[2];
    for (long m = 0; m < steps; m++) {
        for (long i = 0; i < count; i++)
            for (int c = 0; c < 3; c++) {
                before[3 * i + c] = place[3 * i + c];
                if (i < n) place[3 * i + c] += dt * rate[3 * i + c];
            }
        for (int c = 0; c < 3; c++) place[3 * n + c] = tips[3 * m + c];
        advance(knots, part, pieces, stiffness, lure, medium, current, current_rows, drift, air,
                before, rate, place, pull, count, let_out, 0.0, dt, last, work, ret);
        if (ret[0] == 0.0) return -1;
        total += (long)ret[0];
        for (long i = 0; i < 3 * count; i++) rate[i] = (place[i] - before[i]) / dt;
        last = dt;
    }
    return total;
}
"""


class _Writer:
    """Turn one kernel into a C function."""

    def __init__(self, function: Any) -> None:
        source = textwrap.dedent(inspect.getsource(function.py_func))
        node = ast.parse(source).body[0]
        assert isinstance(node, ast.FunctionDef)
        self.node = node
        self.names: set[str] = set()
        self.many = node.name in TUPLES
        self.temporaries = 0

    def text(self) -> str:
        arguments, own = [], set()
        for argument in self.node.args.args:
            name = argument.arg
            own.add(name)
            if name == "part":
                arguments.append("long *part")
            elif name in WIDTH or name in FLAT:
                arguments.append(f"double *{name}")
                if name in ("current", "flow"):
                    arguments.append(f"long {name}_rows")
            else:
                arguments.append(f"{'long' if name in INTEGERS else 'double'} {name}")
        if self.many:
            arguments.append("double *ret")
        body = "".join(self.line(part, 1) for part in self.node.body)
        kinds = {"long": [], "double": []}  # type: dict[str, list[str]]
        for name in sorted(self.names - own - {"row"}):
            kinds["long" if name in INTEGERS else "double"].append(name)
        declared = "".join(f"    {k} {', '.join(v)};\n" for k, v in kinds.items() if v)
        if "row" in self.names:
            declared += "    double *row;\n"
        result = "void" if self.many else "double"
        return f"static {result} {self.node.name}({', '.join(arguments)})\n{{\n{declared}{body}}}\n"

    def expression(self, e: ast.expr) -> str:
        if isinstance(e, ast.Constant):
            return str(int(e.value)) if isinstance(e.value, bool) else repr(e.value)
        if isinstance(e, ast.Name):
            if e.id in ("True", "False"):
                return str(int(e.id == "True"))
            return e.id
        if isinstance(e, ast.BinOp):
            operator = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}[type(e.op)]
            return f"({self.expression(e.left)} {operator} {self.expression(e.right)})"
        if isinstance(e, ast.UnaryOp):
            sign = "!" if isinstance(e.op, ast.Not) else "-"
            return f"({sign}{self.expression(e.operand)})"
        if isinstance(e, ast.BoolOp):
            joint = " && " if isinstance(e.op, ast.And) else " || "
            return "(" + joint.join(self.expression(v) for v in e.values) + ")"
        if isinstance(e, ast.Compare):
            operator = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "=="}[
                type(e.ops[0])
            ]
            return f"({self.expression(e.left)} {operator} {self.expression(e.comparators[0])})"
        if isinstance(e, ast.IfExp):
            return (
                f"({self.expression(e.test)} ? {self.expression(e.body)} : "
                f"{self.expression(e.orelse)})"
            )
        if isinstance(e, ast.Call):
            name = ast.unparse(e.func)
            return f"{CALLS.get(name, name)}({', '.join(self.expression(a) for a in e.args)})"
        if isinstance(e, ast.Attribute):
            return {"math.pi": "M_PI", "math.nan": "NAN"}[ast.unparse(e)]
        if isinstance(e, ast.Subscript):
            base = ast.unparse(e.value)
            if base.endswith(".shape"):
                return f"{base[:-6]}_rows"
            if isinstance(e.slice, ast.Tuple):
                i, j = (self.expression(x) for x in e.slice.elts)
                return f"{base}[{WIDTH[base]} * ({i}) + {j}]"
            return f"{base}[{self.expression(e.slice)}]"
        raise NotImplementedError(ast.dump(e))

    def assign(self, target: ast.expr, value: str, pad: str) -> str:
        if isinstance(target, ast.Name):
            self.names.add(target.id)
        return f"{pad}{self.expression(target)} = {value};\n"

    def line(self, s: ast.stmt, depth: int) -> str:
        pad = "    " * depth
        if isinstance(s, ast.Expr):
            return ""  # a docstring
        if isinstance(s, ast.Assign):
            return self.assignment(s, pad)
        if isinstance(s, ast.AugAssign):
            operator = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*"}[type(s.op)]
            return f"{pad}{self.expression(s.target)} {operator}= {self.expression(s.value)};\n"
        if isinstance(s, ast.If):
            text = f"{pad}if ({self.expression(s.test)}) {{\n"
            text += "".join(self.line(x, depth + 1) for x in s.body) + f"{pad}}}"
            if s.orelse:
                text += " else {\n" + "".join(self.line(x, depth + 1) for x in s.orelse) + pad + "}"
            return text + "\n"
        if isinstance(s, ast.For):
            name = ast.unparse(s.target)
            self.names.add(name)
            assert isinstance(s.iter, ast.Call)
            bounds = [self.expression(a) for a in s.iter.args]
            if len(bounds) == 3:
                head = f"{name} = {bounds[0]}; {name} > {bounds[1]}; {name}--"
            else:
                low, high = bounds if len(bounds) == 2 else ["0", bounds[0]]
                head = f"{name} = {low}; {name} < {high}; {name}++"
            return (
                f"{pad}for ({head}) {{\n"
                + "".join(self.line(x, depth + 1) for x in s.body)
                + f"{pad}}}\n"
            )
        if isinstance(s, ast.Break):
            return f"{pad}break;\n"
        if isinstance(s, ast.Return):
            assert s.value is not None
            if not self.many:
                return f"{pad}return {self.expression(s.value)};\n"
            assert isinstance(s.value, ast.Tuple)
            values = [self.expression(v) for v in s.value.elts]
            return (
                f"{pad}{{ "
                + " ".join(f"ret[{i}] = {v};" for i, v in enumerate(values))
                + " return; }\n"
            )
        raise NotImplementedError(ast.dump(s))

    def assignment(self, s: ast.Assign, pad: str) -> str:
        target, value = s.targets[0], s.value
        if len(s.targets) > 1:
            text = self.expression(value)
            return "".join(self.assign(t, text, pad) for t in s.targets)
        if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
            # no target here stands in a later value
            return "".join(
                self.assign(t, self.expression(v), pad)
                for t, v in zip(target.elts, value.elts, strict=True)
            )
        if isinstance(target, ast.Tuple):
            assert isinstance(value, ast.Call)
            name = ast.unparse(value.func)
            arguments = []
            for a in value.args:
                arguments.append(self.expression(a))
                if name == "stream" and ast.unparse(a) == "current":
                    arguments.append("current_rows")
            text = f"{pad}{{ double got[{TUPLES[name]}]; {name}({', '.join(arguments)}, got); "
            for i, t in enumerate(target.elts):
                assert isinstance(t, ast.Name)
                self.names.add(t.id)
                text += f"{t.id} = got[{i}]; "
            return text + "}\n"
        if ast.unparse(target) == "row":
            self.names.add("row")
            assert isinstance(value, ast.Subscript)
            return f"{pad}row = work + 16 * ({self.expression(value.slice)});\n"
        return self.assign(target, self.expression(value), pad)


def source() -> str:
    """Give the C of the step."""
    text = "#include <math.h>\n"
    for module in (steady, drag, moving_kernels):
        for name, value in vars(module).items():
            if name.isupper() and isinstance(value, int | float) and f"#define {name} " not in text:
                text += f"#define {name} {value!r}\n"
    for function in (
        steady.stream,
        drag.cross_flow_coefficient,
        moving_kernels.line_slopes,
        moving_kernels.wet_share,
        moving_kernels.advance,
    ):
        text += _Writer(function).text()
    return text + LOOP


def build() -> Any:
    """Build it, and give its `travel`."""
    folder = Path(tempfile.mkdtemp())
    (folder / "step.c").write_text(source())
    subprocess.run(
        ["gcc", "-O3", "-march=native", "-shared", "-fPIC", "-o", "step.so", "step.c", "-lm"],
        cwd=folder,
        check=True,
    )
    function = ctypes.CDLL(str(folder / "step.so")).travel
    function.restype = ctypes.c_long
    return function


def call(function: Any, *arguments: Any) -> int:
    """Call it with arrays, integers and floats."""
    ready: list[Any] = []
    for a in arguments:
        if isinstance(a, np.ndarray):
            ready.append(ctypes.c_void_p(a.ctypes.data))
        elif isinstance(a, int):
            ready.append(ctypes.c_long(a))
        else:
            ready.append(ctypes.c_double(a))
    return int(function(*ready))
