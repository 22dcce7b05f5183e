import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    include: ['test/unit/**/*.test.ts'],
    testTimeout: 30_000,
    // Two cores are what CI has; more workers only make each slower.
    maxWorkers: 2,
  },
})
