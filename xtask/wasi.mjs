// Runs a WASI program, for `cargo test --target wasm32-wasip1`: node wasi.mjs PROGRAM [ARGUMENT…]
import { readFile } from "node:fs/promises";
import { WASI } from "node:wasi";

const [program, ...args] = process.argv.slice(2);
const wasi = new WASI({
  version: "preview1",
  args: [program, ...args],
  env: process.env,
  preopens: { "/": process.cwd() },
  returnOnExit: true,
});
const module = await WebAssembly.compile(await readFile(program));
const instance = await WebAssembly.instantiate(module, wasi.getImportObject());
process.exitCode = wasi.start(instance);
