import { svelte } from '@sveltejs/vite-plugin-svelte'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url))

/** The window. Tests of the pure parts are configured in vitest.config.ts, the Electron part in vite.electron.config.ts. */
export default defineConfig({
  root: here('renderer'),
  // Everything the window shows is imported by name, so there is nothing to copy over unseen.
  publicDir: false,
  plugins: [svelte({ configFile: false })],
  worker: { format: 'es' },
  build: {
    outDir: here('out/renderer'),
    emptyOutDir: true,
    target: 'chrome140',
    // Pictures and fonts inlined as data: addresses would need a looser content policy.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
    sourcemap: true,
  },
})
