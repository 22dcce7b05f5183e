import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vitest/config'

export default defineConfig({
  // For the window's stores (*.svelte.ts); components are tested in a real browser instead.
  plugins: [svelte({ configFile: false })],
  test: {
    include: ['test/unit/**/*.test.ts'],
    testTimeout: 30_000,
    // Two cores are what CI has; more workers only make each slower.
    maxWorkers: 2,
  },
})
