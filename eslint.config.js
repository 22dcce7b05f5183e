import globals from 'globals'
import svelte from 'eslint-plugin-svelte'
import ts from 'typescript-eslint'

/** The layer rule: workers <- electron <- renderer. What a layer may not import, and why, in words. */
const forbid = (...patterns) => ({
  'no-restricted-imports': ['error', { patterns }],
})
const nodeModules = {
  regex: '^(node:|electron$|better-sqlite3$|@napi-rs/canvas$)',
  message: 'workers/ is pure: no Node, no Electron, no database.',
}
const upwardsFromWorkers = {
  regex: '/(electron|renderer|test)/',
  message: 'workers/ is the lowest layer: it imports nothing from electron/, renderer/ or test/.',
}
const upwardsFromElectron = {
  regex: '/(renderer|test)/',
  message: 'electron/ may import from workers/ only; the window is above it.',
}
const sidewaysFromRenderer = {
  regex: '(/electron/(?!desk/contract)|^node:|^electron$|/test/)',
  message: 'renderer/ knows the desk only by electron/desk/contract.',
}

export default ts.config(
  { ignores: ['out/', 'dist/', 'node_modules/', 'test/.results/'] },
  ...ts.configs.recommended,
  ...svelte.configs.recommended,
  {
    files: ['**/*.{ts,js,svelte}'],
    languageOptions: { globals: { ...globals.browser, ...globals.node } },
    rules: {
      'no-empty': ['error', { allowEmptyCatch: false }],
      'no-undef': 'off',
      'no-console': 'off',
      'max-lines': ['warn', { max: 400, skipComments: true, skipBlankLines: true }],
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_' }],
    },
  },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser, extraFileExtensions: ['.svelte'] } },
  },
  {
    files: ['workers/**/*.ts'],
    rules: {
      ...forbid(nodeModules, upwardsFromWorkers),
      'no-restricted-globals': [
        'error',
        ...[
          'window',
          'document',
          'process',
          'Buffer',
          'fetch',
          'setTimeout',
          'setInterval',
          'performance',
        ].map((name) => ({ name, message: 'workers/ computes only: no DOM, no Node, no clock.' })),
      ],
      'no-restricted-properties': [
        'error',
        { object: 'Date', property: 'now', message: 'workers/ has no clock.' },
        { object: 'Math', property: 'random', message: 'workers/ takes its random numbers from a seed.' },
      ],
    },
  },
  { files: ['electron/**/*.ts'], rules: forbid(upwardsFromElectron) },
  { files: ['renderer/**/*.{ts,svelte}'], rules: forbid(sidewaysFromRenderer) },
)
