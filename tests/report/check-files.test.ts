// JUnit XML, SARIF and Markdown, read back by parsers that are not ours: libxml2's xmllint, ajv with the committee's
// schema of SARIF 2.1.0 (data/SARIF-PROVENANCE.md). JUnit XML has no published standard: common practice.
import { readFileSync, writeFileSync } from 'node:fs';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Ajv } from 'ajv';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Checked } from '../../src/report/checks.ts';
import { checksOfProof } from '../../src/report/checks-prove.ts';
import { checksOfReplay } from '../../src/report/checks-replay.ts';
import { junit } from '../../src/report/junit.ts';
import { markdown } from '../../src/report/markdown.ts';
import { sarif } from '../../src/report/sarif.ts';
import type { ProveResult } from '../../src/search/prove/prove-result.ts';
import { replayFile } from '../../src/replay/replay.ts';
import type { Result } from '../../src/rules/result.ts';
import { machines } from '../support/machines.ts';
import { runTool, toolSkipped } from '../support/tools.ts';

const FOLDER = process.cwd();
const options = { strict: false, crashDeadline_ms: 100, with: [], machines };

async function replayed(...paths: string[]): Promise<Result> {
  const files = await Promise.all(paths.map((path) => replayFile(path, options)));
  return { schemaVersion: 1, verdict: 'broken', files };
}

const noCoverage = { reached: 1, total: 1, missed: [] };
const coverage = { states: noCoverage, transitions: noCoverage };

/** A proof with one way to a breach, in steps of every kind. */
const proof: ProveResult = {
  schemaVersion: 1,
  protocol: 'din70121',
  verdict: 'broken',
  faults: 1,
  judged: 'both',
  safeEnd: null,
  residual: [],
  rules: [
    {
      rule: 'gate-before-close',
      verdict: 'broken',
      reason: 'broken after 3 steps; no shorter way leads there',
      counterexample: {
        length: 3,
        trace: null,
        steps: [
          {
            at_s: 0,
            what: 'vehicle: choose.next',
            from: 'vehicle',
            message: 'PreChargeReq',
            changes: [],
          },
          {
            at_s: 0.25,
            what: 'a quarter of a second passes',
            from: null,
            message: null,
            changes: [],
          },
          {
            at_s: 0.25,
            what: 'vehicle: choose.power',
            from: 'vehicle',
            message: 'PowerDeliveryReq progress start',
            changes: [{ what: 'contactor', to: 'closed' }],
          },
          {
            at_s: 0.25,
            what: 'charger: choose.answer',
            from: 'charger',
            message: 'PowerDeliveryRes',
            changes: [],
          },
        ],
      },
    },
    { rule: 'open-cold', verdict: 'holds', reason: 'in every state', counterexample: null },
    {
      rule: 'welded-told',
      verdict: 'vacuous',
      reason: 'relevant in no step',
      counterexample: null,
    },
    {
      rule: 'within-limits',
      verdict: 'not modelled',
      reason: 'needs amounts',
      counterexample: null,
    },
  ],
  states: 10,
  transitions: 20,
  depth: 3,
  seconds: 0.1,
  bytesPerState: 40,
  stoppedBy: null,
  assumes: [],
  coverage: { vehicle: coverage, charger: coverage },
  neverTaken: [],
};
const proved = checksOfProof(proof, { vehicle: 'fleet/my vehicle.ts' }, 'handfast prove');

/** What a hostile recording could put into a text. */
const NASTY =
  'a\u001b[31m\u0000 <b>]]>&amp; "q" \'s\' @team #1 [x](https://evil) |`\ud800\ufffe\r\n::warning::';
const nasty: Checked = {
  command: 'handfast replay',
  verdict: 'broken',
  says: NASTY,
  again: `handfast replay '${NASTY}'`,
  checks: [
    {
      suite: NASTY,
      name: 'both-consent',
      outcome: 'failed',
      says: NASTY,
      problems: [
        {
          rule: 'both-consent',
          level: 'error',
          says: NASTY,
          file: `${FOLDER}/a b/ü%.pcap`,
          where: NASTY,
          identity: [NASTY],
          steps: [{ side: 'vehicle', says: NASTY, here: true }],
        },
      ],
    },
  ],
};

let replay: Checked;
let strict: Checked;
beforeAll(async () => {
  const result = await replayed(
    'traces/field/din-closes-46v-apart.pcapng',
    'traces/field/iso2-ignores-stop-request.pcapng',
    'traces/field/din-clean.pcapng',
  );
  replay = checksOfReplay(result, { strict: false, again: 'handfast replay x' });
  strict = checksOfReplay(result, { strict: true, again: 'handfast replay x' });
});

const all = (): [string, Checked][] => [
  ['replay', replay],
  ['strict', strict],
  ['proof', proved],
  ['nasty', nasty],
];

describe('checks', () => {
  it('fail where a rule decides, and only there', () => {
    const failed = replay.checks.filter(({ outcome }) => outcome === 'failed');
    expect(failed.map(({ name }) => name)).toContain('gate-before-close');
    expect(failed.every(({ name }) => name !== 'in-order' && name !== 'in-time')).toBe(true);
    expect(failed.every(({ problems }) => problems.some(({ level }) => level === 'error'))).toBe(
      true,
    );
    const clean = replay.checks.filter(({ suite }) => suite.includes('din-clean'));
    expect(clean.some(({ outcome }) => outcome === 'passed')).toBe(true);
    expect(clean.every(({ outcome }) => outcome === 'passed' || outcome === 'skipped')).toBe(true);
  });

  it('of a proof keep vacuous apart from holds', () => {
    expect(proved.checks.map(({ name, outcome }) => [name, outcome])).toEqual([
      ['gate-before-close', 'failed'],
      ['open-cold', 'passed'],
      ['welded-told', 'undecided'],
      ['within-limits', 'skipped'],
    ]);
  });
});

describe('JUnit XML', () => {
  it('is well formed and counts what it holds (xmllint)', () => {
    if (toolSkipped('xmllint', 'JUnit XML is read by libxml2')) return;
    const folder = mkdtempSync(join(tmpdir(), 'handfast-'));
    for (const [name, checked] of all()) {
      const path = join(folder, `${name}.xml`);
      writeFileSync(path, junit(checked));
      const xpath = (query: string): string => runTool('xmllint', ['--xpath', query, path]).trim();
      expect(runTool('xmllint', ['--noout', path])).toBe('');
      for (const [attribute, element] of [
        ['tests', 'testcase'],
        ['failures', 'failure'],
        ['errors', 'error'],
        ['skipped', 'skipped'],
      ]) {
        const counted = xpath(`count(//${element})`);
        expect(xpath(`string(/testsuites/@${attribute})`)).toBe(counted);
        expect(xpath(`sum(//testsuite/@${attribute})`)).toBe(counted);
      }
      expect(xpath('count(//testcase)')).toBe(`${checked.checks.length}`);
    }
    const path = join(folder, 'nasty.xml');
    const says = runTool('xmllint', ['--xpath', 'string(//failure/@message)', path]);
    expect(says).toContain('\\u001b[31m\\u0000 <b>]]>&amp; "q" \'s\'');
  });
});

interface SarifLog {
  runs: {
    tool: { driver: { rules: { id: string }[] } };
    results: {
      ruleId: string;
      ruleIndex: number;
      kind: string;
      level: string;
      locations?: { physicalLocation?: { artifactLocation: { uri: string } } }[];
      partialFingerprints: Record<string, string>;
      codeFlows?: {
        threadFlows: {
          id: string;
          locations: { executionOrder: number; location: { message: { text: string } } }[];
        }[];
      }[];
    }[];
  }[];
}

const sarifOf = (checked: Checked, folder = FOLDER): SarifLog =>
  JSON.parse(sarif(checked, { version: '1.2.3', folder })) as SarifLog;

const uri = (log: SarifLog): string =>
  log.runs[0]!.results[0]!.locations![0]!.physicalLocation!.artifactLocation.uri;
const prints = (log: SarifLog): string[] =>
  log.runs[0]!.results.map(({ partialFingerprints }) => partialFingerprints['handfastProblem/v1']!);

describe('SARIF', () => {
  it('is valid against the schema of 2.1.0 (ajv)', () => {
    const {
      id,
      $schema: _draft4,
      ...schema
    } = JSON.parse(readFileSync('tests/report/data/sarif-2.1.0-rtm.5.json', 'utf8')) as {
      id: string;
      $schema: string;
    };
    const ajv = new Ajv({ strict: false, validateFormats: false, unicodeRegExp: false });
    const validate = ajv.compile({ $id: id, ...schema });
    for (const [, checked] of all()) {
      expect(validate(sarifOf(checked)) ? null : validate.errors).toBeNull();
    }
    expect(validate({ version: '2.1.0', runs: [{}] })).toBe(false);
  });

  it('names its rules by index, and the open have no level', () => {
    for (const [, checked] of all()) {
      const [run] = sarifOf(checked).runs;
      for (const { ruleId, ruleIndex, kind, level } of run!.results) {
        expect(run!.tool.driver.rules[ruleIndex]!.id).toBe(ruleId);
        expect(kind === 'open').toBe(level === 'none');
      }
    }
  });

  it('tells a counterexample as one thread flow a side, in one order', () => {
    const [flow, ...others] = sarifOf(proved).runs[0]!.results[0]!.codeFlows!;
    expect(others).toEqual([]);
    const threads = flow!.threadFlows.map(({ id, locations }) => [
      id,
      locations.map(({ executionOrder }) => executionOrder),
    ]);
    expect(threads).toEqual([
      ['vehicle', [1, 2, 3]],
      ['charger', [2, 4]],
    ]);
    expect(flow!.threadFlows[0]!.locations[2]!.location.message.text).toBe(
      '0.25 s: choose.power: PowerDeliveryReq progress start; then contactor closed',
    );
  });

  it('has relative locations and fingerprints that are the same wherever it runs', () => {
    expect(uri(sarifOf(nasty))).toBe('a%20b/%C3%BC%25.pcap');
    expect(uri(sarifOf(proved))).toBe('fleet/my%20vehicle.ts');
    const moved = JSON.parse(
      JSON.stringify(replay).replaceAll('traces/field', '/home/x/traces/field'),
    ) as Checked;
    expect(prints(sarifOf(moved, '/home/x'))).toEqual(prints(sarifOf(replay)));
    expect(new Set(prints(sarifOf(replay))).size).toBe(prints(sarifOf(replay)).length);
  });
});

describe('Markdown', () => {
  it('tells what failed, and lets nothing of a recording be markup', () => {
    const text = markdown(nasty);
    expect(text).toContain('| 1 | 0 | 0 | 0 |');
    const words = text.slice(0, text.indexOf('To see it again'));
    expect(words).not.toMatch(/<b>|@team|[^\\]\[x|https:\/\//);
    expect(text).not.toContain('\u001b');
    expect(text.split('```')).toHaveLength(3);
  });

  it('is short where all holds', () => {
    const held = markdown({
      ...proved,
      verdict: 'holds',
      again: null,
      checks: proved.checks.slice(1, 2),
    });
    expect(held).not.toContain('###');
    expect(held).toContain('## handfast prove: holds');
  });
});
