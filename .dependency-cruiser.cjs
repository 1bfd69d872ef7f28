// Imports run one way: a part may import only what stands above it in this list (DEVELOPERS.md, Layout).
const parts = [
  'trace',
  'wire',
  'facts',
  'protocols',
  'physics',
  'machine',
  'rules',
  'replay',
  'simulate',
  'search',
  'report',
  'gate',
  'live',
  'cli',
];

const oneWay = parts.map((part, line) => ({
  name: `one-way-${part}`,
  comment: `src/${part} may import only parts above it`,
  severity: 'error',
  from: { path: `^src/${part}/` },
  to: { path: `^src/(${parts.slice(line + 1).join('|') || '-'})/` },
}));

module.exports = {
  forbidden: [
    ...oneWay,
    {
      name: 'bytes-and-physics-know-no-rules',
      severity: 'error',
      from: { path: '^src/(wire|physics)/' },
      to: { path: '^src/(facts|protocols|machine|rules)/' },
    },
    {
      name: 'machines-stand-on-facts-protocols-machine',
      severity: 'error',
      from: { path: '^machines/' },
      to: { path: '^src/', pathNot: '^src/(facts|protocols|machine)/' },
    },
    {
      name: 'only-cli-names-the-bundled-machines',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/cli/' },
      to: { path: '^machines/' },
    },
    {
      name: 'nothing-shipped-imports-tests',
      severity: 'error',
      from: { path: '^(src|machines)/' },
      to: { path: '^tests/' },
    },
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: { extensions: ['.ts', '.js', '.json'] },
  },
};
