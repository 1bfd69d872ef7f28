// Builds the page of the report into one file that needs nothing else: dist/src/report/page.html.
import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vite';

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  logLevel: 'warn',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: fileURLToPath(new URL('../../../dist/src/report', import.meta.url)),
    emptyOutDir: false,
    target: 'es2022',
    cssCodeSplit: false,
    modulePreload: false,
  },
  plugins: [oneFile()],
});

/** Script and style into the page. The page then runs this script and no other, whatever its data say. */
function oneFile(): Plugin {
  return {
    name: 'handfast-one-file',
    enforce: 'post',
    generateBundle(_options, bundle) {
      let code = '';
      let style = '';
      let page = '';
      for (const [name, output] of Object.entries(bundle)) {
        delete bundle[name];
        if (output.type === 'chunk') code += output.code;
        else if (name.endsWith('.css')) style += String(output.source);
        else if (name.endsWith('.html')) page = String(output.source);
      }
      const script = code.replaceAll('</script', '<\\/script').trim();
      const hash = createHash('sha256').update(script).digest('base64');
      const policy =
        `default-src 'none'; script-src 'sha256-${hash}'; style-src 'unsafe-inline'; ` +
        `img-src data:; base-uri 'none'; form-action 'none'`;
      this.emitFile({
        type: 'asset',
        fileName: 'page.html',
        source: page
          .replace(/\s*<script type="module"[^>]*><\/script>/, '')
          .replace(/\s*<link rel="stylesheet"[^>]*>/, '')
          .replace('<!-- handfast:policy -->', () => metaOf(policy))
          .replace('<!-- handfast:style -->', () => `<style>${style.trim()}</style>`)
          .replace('<!-- handfast:script -->', () => `<script type="module">${script}</script>`),
      });
    },
  };
}

const metaOf = (policy: string): string =>
  `<meta http-equiv="Content-Security-Policy" content="${policy}" />`;
