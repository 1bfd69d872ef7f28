// Outside tools that some checks compare with. A check whose tool is missing is skipped by name, or fails where
// HANDFAST_REQUIRE_TOOLS=1 asks for completeness.
import { spawnSync } from 'node:child_process';

const found = new Map<string, boolean>();

/** True when `tool` is not installed; says which check is skipped then. */
export function toolSkipped(tool: string, check: string): boolean {
  let there = found.get(tool);
  if (there === undefined) {
    // Not every tool knows --version; what counts is that it starts.
    there = spawnSync(tool, ['--version'], { stdio: 'ignore' }).error === undefined;
    found.set(tool, there);
  }
  if (there) return false;
  if (process.env['HANDFAST_REQUIRE_TOOLS'] === '1') {
    throw new Error(`${tool} is not installed, and HANDFAST_REQUIRE_TOOLS=1 asks for: ${check}`);
  }
  process.stderr.write(`skipped, ${tool} is not installed: ${check}\n`);
  return true;
}

/** Standard output of a tool that must succeed. */
export function runTool(tool: string, args: string[]): string {
  const { status, stdout, stderr } = spawnSync(tool, args, {
    encoding: 'utf8',
    maxBuffer: 256 * 1024 * 1024,
  });
  if (status !== 0) throw new Error(`${tool} ${args.join(' ')} ended with ${status}: ${stderr}`);
  return stdout;
}
