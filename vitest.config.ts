import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vitest/config'

export default defineConfig({
  // For the window's stores (*.svelte.ts); components are tested in a real browser instead.
  plugins: [svelte({ configFile: false })],
  test: {
    include: ['test/unit/**/*.test.ts'],
    // As in package.json's scripts: on processors with protection keys this V8 may abort when threads come and go.
    execArgv: ['--no-memory-protection-keys'],
    // Whole flights are simulated and compared; a busy machine takes several times as long as a calm one.
    testTimeout: 180_000,
    hookTimeout: 240_000,
    // Two cores are what CI has; more workers only make each slower.
    maxWorkers: 2,
  },
})
