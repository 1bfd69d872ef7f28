// Problems as SARIF 2.1.0 (OASIS standard, 2020). Paths are relative to the folder the command ran in; a way to a
// problem is a code flow with one thread flow a side, in one order of execution.
import { createHash } from 'node:crypto';
import { isAbsolute, relative, sep } from 'node:path';
import { ruleCatalogue, type RuleDescription } from '../rules/catalogue.ts';
import type { Checked, Problem, Step } from './checks.ts';
import { plain, plainJson } from './plain.ts';

const SCHEMA =
  'https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json';

export interface SarifOptions {
  readonly version: string;
  /** The folder that paths are made relative to. */
  readonly folder: string;
}

export function sarif(checked: Checked, { version, folder }: SarifOptions): string {
  const problems = checked.checks.flatMap((check) => check.problems);
  const ids = [...new Set(problems.map(({ rule }) => rule))].toSorted();
  const log = {
    $schema: SCHEMA,
    version: '2.1.0',
    runs: [
      {
        tool: { driver: { name: 'handfast', version, rules: ids.map(ruleOf) } },
        invocations: [{ executionSuccessful: true }],
        columnKind: 'utf16CodeUnits',
        results: problems.map((problem) => resultOf(problem, ids, folder)),
        properties: { verdict: checked.verdict },
      },
    ],
  };
  return `${plainJson(JSON.stringify(log, null, 2))}\n`;
}

function ruleOf(id: string): object {
  const known: RuleDescription | undefined = ruleCatalogue.find((rule) => rule.id === id);
  if (known === undefined) return { id };
  return {
    id,
    shortDescription: { text: known.says },
    fullDescription: { text: `${known.says} (${known.clause})` },
    properties: { class: known.class },
  };
}

function resultOf(problem: Problem, ids: readonly string[], folder: string): object {
  const { rule, level, says, where, steps } = problem;
  const uri = problem.file === null ? null : relativeUri(problem.file, folder);
  const physical = uri === null ? {} : { physicalLocation: { artifactLocation: { uri } } };
  return {
    ruleId: rule,
    ruleIndex: ids.indexOf(rule),
    // What could not be decided is no failure of the rule (3.27.9), and has no level (3.27.10).
    ...(level === 'open' ? { kind: 'open', level: 'none' } : { kind: 'fail', level }),
    message: { text: plain(where === '' ? says : `${where}: ${says}`) },
    ...(uri === null && where === '' ? {} : { locations: [located(physical, where)] }),
    partialFingerprints: { 'handfastProblem/v1': fingerprint(problem, folder) },
    ...(steps.length > 0 ? { codeFlows: [codeFlow(steps, physical)] } : {}),
  };
}

function located(physical: object, where: string): object {
  return { ...physical, ...(where === '' ? {} : { message: { text: plain(where) } }) };
}

/** Paths in it are relative, so that it is the same on every machine. */
function fingerprint({ identity, file }: Problem, folder: string): string {
  const uri = file === null ? '' : relativeUri(file, folder);
  const words = identity.map((word) => (file === null ? word : word.replaceAll(file, uri)));
  return createHash('sha256').update(JSON.stringify(words)).digest('hex');
}

function codeFlow(steps: readonly Step[], physical: object): object {
  const sides = ['vehicle', 'charger'] as const;
  const threadFlows = sides.flatMap((side) => {
    const locations = steps.flatMap((step, index) => {
      if (step.side !== null && step.side !== side) return [];
      const importance = step.here ? 'essential' : step.side === null ? 'unimportant' : 'important';
      const location = { ...physical, message: { text: plain(step.says) } };
      // Both sides share one order: a step of neither stands in both at the same place.
      return [{ executionOrder: index + 1, importance, location }];
    });
    return locations.length > 0 ? [{ id: side, message: { text: `the ${side}` }, locations }] : [];
  });
  return { threadFlows };
}

/** A relative reference with forward slashes, each part percent-encoded (RFC 3986). */
function relativeUri(path: string, folder: string): string {
  const near = isAbsolute(path) ? relative(folder, path) : path;
  return near.split(sep).map(encodeURIComponent).join('/');
}
