import { globSync } from 'node:fs'
import { basename } from 'node:path'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const root = fileURLToPath(new URL('.', import.meta.url))

/**
 * The Electron main process and the worker threads it starts, each a file of its own in out/electron.
 * All lie in that one folder, shared parts too: a thread's file is found beside the code that starts it.
 */
const threads = globSync('electron/**/*.worker.ts', { cwd: root })

export default defineConfig({
  root,
  publicDir: false,
  build: {
    ssr: true,
    outDir: 'out/electron',
    emptyOutDir: true,
    target: 'node24',
    minify: false,
    sourcemap: true,
    reportCompressedSize: false,
    rolldownOptions: {
      input: Object.fromEntries(
        ['electron/main.ts', ...threads].map((path) => [basename(path, '.ts'), `${root}${path}`]),
      ),
      output: { entryFileNames: '[name].js', chunkFileNames: '[name]-[hash].js' },
    },
  },
  ssr: {
    // Only what has native parts, or is the runtime itself, stays outside the bundle.
    noExternal: true,
    external: ['electron', 'better-sqlite3', '@napi-rs/canvas'],
  },
})
