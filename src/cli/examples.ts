// The examples at the head of a command's help.

export function examples(rows: [command: string, says: string][]): string {
  const width = Math.max(...rows.map(([command]) => command.length));
  const lines = rows.map(([command, says]) => `  handfast ${command.padEnd(width)}  ${says}`);
  return `Examples:\n${lines.join('\n')}\n`;
}
