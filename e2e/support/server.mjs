// The real program over a folder of its own, stopped and swept away at the end of the test.
import { spawn, execFileSync } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));

/** Where cargo builds to, by its own word: the environment or a user's settings may move it. */
const { target_directory: target } = JSON.parse(
  execFileSync("cargo", ["metadata", "--no-deps", "--format-version", "1"], {
    cwd: resolve(here, "../.."),
    encoding: "utf8",
    maxBuffer: 1 << 26,
  }),
);

/** The program that `cargo build` made. */
export const PROGRAM = join(target, "debug", "stonewear");

/** A new empty folder. */
export const folder = () => mkdtempSync(join(tmpdir(), "stonewear-e2e-"));

/** Sweeps a folder away. */
export const sweep = (dir) => rmSync(dir, { recursive: true, force: true });

/** Runs a command of the program to its end and gives what it printed. */
export const stonewear = (...args) => execFileSync(PROGRAM, args, { encoding: "utf8" });

/** Starts `serve` or `demo` over a folder; gives the address and a way to stop it. */
export async function serve(dir, command = "serve") {
  const child = spawn(PROGRAM, [command, "--dir", dir, "--listen", "127.0.0.1:0"], {
    stdio: ["ignore", "pipe", "pipe"],
  });
  let printed = "";
  let complaints = "";
  child.stderr.on("data", (chunk) => (complaints += chunk));
  const ended = once(child, "exit");
  const address = new Promise((found) => {
    child.stdout.on("data", (chunk) => {
      printed += chunk;
      const url = /http:\/\/[^\s/]+/.exec(printed);
      if (url) found(url[0]);
    });
  });
  const failed = ended.then(([status]) => {
    throw new Error(`the program ended with ${status}: ${complaints}`);
  });
  // Once the address is known, the end of the program is what was asked for.
  failed.catch(() => {});
  return {
    url: await Promise.race([address, failed]),
    complaints: () => complaints,
    /** The code of the first account, which the terminal shows behind the address. */
    code: async () => {
      for (;;) {
        const code = /with the code (\S+)/.exec(printed);
        if (code) return code[1];
        await new Promise((soon) => setTimeout(soon, 50));
      }
    },
    stop: async () => {
      child.kill("SIGTERM");
      await ended;
    },
  };
}
