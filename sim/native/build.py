"""Make the kernels' objects for every platform: `python -m sim.native.build`.

The compiler's intermediate code of all listed kernels (numba) becomes one module; llvmlite makes an
object file of it for each target, and zig's linker a shared library, which needs neither a C
library nor anything else. The same module becomes WebAssembly, whose functions take addresses in
place of arrays. The tools are the optional extra `kernels`; their versions are listed in
`kernels.json`, and with the same ones the files come out the same to the byte.

Called with a file, it first adds the calls in it to the list: those that found no shipped kernel
while the variable RALLY_RECOVERY_KERNELS_MET named that file (see `sim.compiled`).
"""

from __future__ import annotations

import argparse
import dataclasses
import hashlib
import importlib
import json
import os
import re
import subprocess
import sys
import tempfile
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from sim.native.load import FOLDER, LISTED, PROBE, SHIPPED_LAYERS, listed
from sim.native.notation import NONE, NUMBERS, from_described, split
from sim.source import source_hash
from sim.whole_file import write_whole

TOOLS = ("numba", "llvmlite", "ziglang")
# The kernels' code must not be made for the processor that it is made on.
SETTINGS = {
    "NUMBA_OPT": "0",
    "NUMBA_CPU_NAME": "x86-64-v2",
    "NUMBA_CPU_FEATURES": "",
    "NUMBA_LOOP_VECTORIZE": "0",
    "RALLY_RECOVERY_CACHE": str(LISTED / "none"),  # below a file there can be no folder
}


@dataclass(frozen=True)
class Target:
    """A platform: its name here, LLVM's triple and processor, zig's name, the file's ending."""

    name: str
    triple: str
    processor: str
    zig: str
    ending: str

    @property
    def file(self) -> str:
        return f"{self.name}.{self.ending}"


TARGETS = (
    Target("linux-x86_64", "x86_64-unknown-linux-gnu", "x86-64-v2", "x86_64-linux", "so"),
    Target("linux-aarch64", "aarch64-unknown-linux-gnu", "generic", "aarch64-linux", "so"),
    Target("darwin-x86_64", "x86_64-apple-macosx11", "x86-64-v2", "x86_64-macos", "dylib"),
    Target("darwin-aarch64", "arm64-apple-macosx11", "apple-m1", "aarch64-macos", "dylib"),
    Target("win32-x86_64", "x86_64-pc-windows-gnu", "x86-64-v2", "x86_64-windows", "dll"),
)
WEB = Target("web", "wasm32-unknown-unknown", "mvp", "wasm32-freestanding", "wasm")


def for_processor(name: str) -> Target:
    """Linux on one x86-64 processor, named as LLVM does."""
    usual = TARGETS[0]
    return dataclasses.replace(usual, name=f"{usual.name}-{name}", processor=name)


def asked(met: Path | None) -> tuple[dict[str, set[str]], dict[str, Any]]:
    """The calls to be served, by kernel, and the record types in them: the listed and the met."""
    calls = {name: set(entries) for name, entries in listed().get("entries", {}).items()}
    types = dict(listed().get("types", {}))
    for line in [] if met is None else met.read_text(encoding="utf-8").splitlines():
        call = json.loads(line)
        calls.setdefault(call["kernel"], set()).add(call["takes"])
        types |= call["types"]
    return calls, types


@dataclass(frozen=True)
class Entry:
    """A kernel for one list of types: its symbol, what it takes and what it gives."""

    kernel: str
    takes: str
    symbol: str
    gives: str
    code: str  # intermediate code of the callable forms, with all that they call


class Maker:
    """Makes entries: functions in numba that take what comes from outside, and call the kernel."""

    def __init__(self, types: dict[str, Any]) -> None:
        import numba
        from numba.extending import intrinsic

        self.numba, self.types = numba, {k: from_described(fields) for k, fields in types.items()}
        ir, cgutils = importlib.import_module("llvmlite.ir"), numba.core.cgutils

        @intrinsic
        def word(context: Any, base: Any, offset: Any) -> Any:
            """The 64-bit number at an address."""

            def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
                place = cgutils.pointer_add(builder, args[0], args[1])
                return builder.load(builder.bitcast(place, ir.IntType(64).as_pointer()))

            return numba.int64(base, numba.int64), code

        @intrinsic
        def pointer(context: Any, address: Any) -> Any:
            """An address as the compiler knows it."""

            def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
                return builder.inttoptr(args[0], cgutils.voidptr_t)

            return numba.types.voidptr(numba.int64), code

        self.names = {"carray": numba.carray, "word": word, "pointer": pointer}

    def entry(self, kernel: str, takes: str, index: int) -> Entry:
        """Compile a kernel for the types of a notation, in both callable forms."""
        home, name = kernel.split(":")
        function = getattr(importlib.import_module(home), name).just_in_time
        kinds = split(takes)
        inner = tuple(self.type_of(text) for text in kinds)
        function.compile(inner)
        gives: Any = function.overloads[inner].signature.return_type
        symbol = f"{home.replace('.', '_')}__{name}__{index}"
        results = list(gives) if hasattr(gives, "count") else None
        forms = [
            self.form(function, kinds, gives, results, f"{symbol}{end}", plain)
            for end, plain in (("", False), ("__plain", True))
        ]
        texts = [self.text(each) for each in results] if results else [self.text(gives)]
        told = f"({','.join(texts)},)" if results else texts[0]
        return Entry(kernel, takes, symbol, told, "\0".join(forms))

    def type_of(self, text: str) -> Any:
        """numba's type of a notation."""
        types = self.numba.types
        if text.startswith("("):
            return types.Tuple([self.type_of(each) for each in split(text[1:-1])])
        if text == NONE:
            return types.none
        if text.endswith("]"):
            base, dimensions = text[:-1].split("[")
            return types.Array(self.type_of(base), int(dimensions), "C")
        if text in self.types:
            return self.numba.from_dtype(self.types[text])
        return {"f8": types.float64, "i8": types.int64, "b1": types.boolean}[text]

    def text(self, kind: Any) -> str:
        """The notation of one number that a kernel returns."""
        types = self.numba.types
        known = {types.float64: "f8", types.int64: "i8", types.boolean: "b1", types.none: NONE}
        if kind not in known:
            raise TypeError(f"a kernel that is shipped cannot return {kind}")
        return known[kind]

    def form(
        self, function: Any, kinds: list[str], gives: Any, results: Any, symbol: str, plain: bool
    ) -> str:
        """Intermediate code of a function that calls the kernel.

        It takes Python's array objects, or (`plain`) the addresses and lengths of arrays.
        """
        types = self.numba.types
        names: dict[str, Any] = {**self.names, "kernel": function}
        taken: list[tuple[str, Any]] = []
        values = [self.value(text, names, taken, plain) for text in kinds]
        body = f"kernel({', '.join(values)})"
        if results:
            taken.append(("out", types.CPointer(types.float64)))
            lines = [f"found = {body}"]
            lines += [f"out[{k}] = float(found[{k}])" for k in range(len(results))]
            gives = types.void
        else:
            lines = [body if gives == types.none else f"return {body}"]
            gives = types.void if gives == types.none else gives
        source = f"def {symbol}({', '.join(name for name, _ in taken)}):\n"
        exec(source + textwrap.indent("\n".join(lines), "    "), names)
        signature = gives(*[kind for _, kind in taken])
        made: Any = self.numba.cfunc(signature, error_model="numpy")(names[symbol])
        return _renamed(made._library.get_llvm_str(), made._wrapper_name, symbol)

    def value(self, text: str, names: dict[str, Any], taken: list[Any], plain: bool) -> str:
        """The expression of one argument; what it needs from outside is added to `taken`."""
        types, at = self.numba.types, f"a{len(taken)}"
        if text == NONE:
            return "None"
        if text.startswith("("):
            parts = [self.value(each, names, taken, plain) for each in split(text[1:-1])]
            return f"({', '.join(parts)},)"
        if text in NUMBERS.values():
            taken.append((at, self.type_of(text)))
            return at
        is_record = not text.endswith("]")
        base, dimensions = (text, 1) if is_record else (text[:-1].split("[")[0], int(text[-2]))
        names[f"T{at}"] = self.types.get(base) or np.dtype(base)
        taken.append((at, types.voidptr))
        if plain:
            lengths = [] if is_record else [f"{at}n{d}" for d in range(dimensions)]
            taken += [(each, types.int32) for each in lengths]
            shape, address = [f"int({each})" for each in lengths] or ["1"], at
        else:
            # NumPy's public layout of an array object: address at byte 16, shape at byte 32.
            address = f"pointer(word({at}, 16))"
            shape = [f"word(pointer(word({at}, 32)), {8 * d})" for d in range(dimensions)]
        array = f"carray({address}, ({', '.join(shape)},), T{at})"
        return f"{array}[0]" if is_record else array


def _renamed(code: str, old: str, new: str) -> str:
    """Intermediate code whose one function for outside has a name of our choice.

    Arrays from outside are counted by nobody, and a square root is the processor's own.
    """
    code = COUNTING.sub(r"declare void @\1(ptr)\n", code).replace("@sqrt(", "@llvm.sqrt.f64(")
    return code.replace(f'@"{old}"', f"@{new}").replace(f"@{old}(", f"@{new}(")


COUNTING = re.compile(r"^define [^\n]*@(NRT_incref|NRT_decref)\(.*?^}\n", re.M | re.S)
# Arrays come from outside, so none is counted. No kernel raises; if one did, the first function
# called then would end the process rather than let a wrong number out.
SHIM = """
define linkonce_odr void @NRT_incref(ptr %p) alwaysinline { ret void }
define linkonce_odr void @NRT_decref(ptr %p) alwaysinline { ret void }
declare void @llvm.trap() noreturn
define linkonce_odr void @numba_gil_ensure(ptr %p) alwaysinline noreturn {
  call void @llvm.trap()
  unreachable
}
"""
PROBE_CODE = f"""
define void @{PROBE}(ptr %array, ptr %out) {{
  %p0 = getelementptr i8, ptr %array, i64 16
  %data = load i64, ptr %p0
  %p1 = getelementptr i8, ptr %array, i64 32
  %dims = load ptr, ptr %p1
  %n0 = load i64, ptr %dims
  %p2 = getelementptr i64, ptr %dims, i64 1
  %n1 = load i64, ptr %p2
  store i64 %data, ptr %out
  %q1 = getelementptr i64, ptr %out, i64 1
  store i64 %n0, ptr %q1
  %q2 = getelementptr i64, ptr %out, i64 2
  store i64 %n1, ptr %q2
  ret void
}}
"""


# What Windows calls when it loads a library, and a mark of one that uses floating point.
WINDOWS = """
@_fltused = global i32 0
define i32 @DllMainCRTStartup(ptr %library, i32 %reason, ptr %reserved) { ret i32 1 }
"""


def joined(entries: list[Entry], target: Target, web: bool) -> Any:
    """One optimised module for a target: the entries in the form that the target calls."""
    import llvmlite.binding as llvm

    machine = llvm.Target.from_triple(target.triple).create_target_machine(
        cpu=target.processor, opt=3, reloc="pic", codemodel="default"
    )
    own = f'target triple = "{target.triple}"\ntarget datalayout = "{machine.target_data}"\n'
    extra = WINDOWS if "windows" in target.triple else ""
    whole = llvm.parse_assembly(own + SHIM + extra + ("" if web else PROBE_CODE))
    for entry in entries:
        code = entry.code.split("\0")[1 if web else 0]
        code = re.sub(r"^target (triple|datalayout) = .*\n", "", code, flags=re.M)
        whole.link_in(llvm.parse_assembly(own + code))
    called = {entry.symbol + ("__plain" if web else "") for entry in entries} | {PROBE}
    kept = called | {"_fltused", "DllMainCRTStartup"}
    for each in [*whole.functions, *whole.global_variables]:
        if not each.is_declaration:
            each.linkage = "external" if each.name in kept else "internal"
        if each.name in called and extra:
            each.storage_class = "dllexport"
    tuning = llvm.create_pipeline_tuning_options(speed_level=3)
    tuning.loop_vectorization = tuning.slp_vectorization = True  # the same bits, sooner
    builder = llvm.create_pass_builder(machine, tuning)
    builder.getModulePassManager().run(whole, builder)
    unknown = [f.name for f in whole.functions if f.is_declaration and "llvm." not in f.name]
    if unknown:
        raise SystemExit(f"These functions are not there for {target.name}: {', '.join(unknown)}.")
    return machine.emit_object(whole)


def linked(target: Target, code: bytes, exported: list[str], folder: Path) -> bytes:
    """The shared library, or the WebAssembly module, of an object file."""
    made, object_file = folder / target.file, folder / f"{target.name}.o"
    object_file.write_bytes(code)
    zig = [sys.executable, "-m", "ziglang"]
    if target is WEB:
        kept = [f"-Wl,--export={name}" for name in (*exported, "__heap_base")]
        how = ["cc", "-s", "-Wl,--no-entry", "-Wl,--export-memory", *kept, "-o", made.name]
    else:
        how = ["build-lib", "-dynamic", "-fcompiler-rt", "-fstrip", "-z", "defs"]
        how += ["-OReleaseSmall", f"-femit-bin={made.name}"]
    command = [*zig, *how, "-target", target.zig, object_file.name]
    done = subprocess.run(command, capture_output=True, text=True, cwd=folder)
    if done.returncode:
        raise SystemExit(f"Linking for {target.name} failed:\n{done.stderr}")
    return made.read_bytes()


def build(met: Path | None = None, processors: Sequence[str] = ()) -> dict[str, bytes]:
    """All files of the folder by name, as they should be.

    And objects for those x86-64 processors (LLVM's names) on Linux, which are not shipped: they
    show that the processor that a kernel is made for changes no digit.
    """
    import llvmlite.binding as llvm

    llvm.initialize_all_targets()
    llvm.initialize_all_asmprinters()
    calls, types = asked(met)
    maker, entries = Maker(types), []
    for kernel in sorted(calls):
        index = 0  # of those that are made, so that the list alone makes the same names again
        for takes in sorted(calls[kernel]):
            try:
                entries.append(maker.entry(kernel, takes, index))
                index += 1
            except Exception as error:  # a kernel or a record that is no longer what it was
                told = str(error).partition("\n")[0]
                print(f"\nLeft out: {kernel}({takes}): {told}", file=sys.stderr)
            print(f"\r{len(entries)} kernels", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    files = {}
    with tempfile.TemporaryDirectory() as folder:
        for target in (*TARGETS, WEB, *map(for_processor, processors)):
            web = target is WEB
            exported = [f"{entry.symbol}__plain" for entry in entries] if web else []
            files[target.file] = linked(
                target, joined(entries, target, web), exported, Path(folder)
            )
            print(f"{target.file}: {len(files[target.file])} bytes", file=sys.stderr, flush=True)
    files[LISTED.name] = _list(entries, types, files).encode()
    return files


def _list(entries: list[Entry], types: dict[str, Any], files: dict[str, bytes]) -> str:
    """The text of `kernels.json`."""
    by_kernel: dict[str, Any] = {}
    for entry in entries:
        found = by_kernel.setdefault(entry.kernel, {})
        found[entry.takes] = {"symbol": entry.symbol, "gives": entry.gives}
    used = {text for entry in entries for text in re.findall(r"r[0-9a-f]{8}", entry.takes)}
    objects = {
        target.name: {
            "file": target.file,
            "sha256": hashlib.sha256(files[target.file]).hexdigest(),
        }
        for target in (*TARGETS, WEB)
    }
    return (
        json.dumps(
            {
                "source": {layer: source_hash(layer) for layer in SHIPPED_LAYERS},
                "made_with": {tool: version(tool) for tool in TOOLS},
                "objects": objects,
                "entries": by_kernel,
                "types": {name: types[name] for name in sorted(used)},
            },
            indent=1,
        )
        + "\n"
    )


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m sim.native.build", description=__doc__)
    parser.add_argument("met", nargs="?", type=Path, help="a file of calls to be added")
    parser.add_argument("--into", type=Path, default=FOLDER, help="another folder for the files")
    parser.add_argument(
        "--processor", action="append", default=[], help="also an object for it, as LLVM names it"
    )
    asked_for = parser.parse_args()
    if any(os.environ.get(name) != value for name, value in SETTINGS.items()):
        os.execve(sys.executable, [sys.executable, *sys.orig_argv[1:]], os.environ | SETTINGS)
    files = build(asked_for.met, asked_for.processor)
    for name, content in files.items():
        write_whole(asked_for.into / name, content)
    size = sum(map(len, files.values()))
    print(f"Wrote {len(files)} files into {asked_for.into}: {size} bytes in all.")


if __name__ == "__main__":
    main()
