import { ESLint } from 'eslint'
import { join } from 'node:path'
import { expect, test } from 'vitest'

const root = join(import.meta.dirname, '../..')
const eslint = new ESLint({ cwd: root })

/** The layer rule's complaints about one line of code in one file. */
async function complaints(filePath: string, code: string): Promise<string[]> {
  const [result] = await eslint.lintText(code, { filePath: join(root, filePath) })
  return (result?.messages ?? [])
    .filter(({ ruleId }) => ruleId?.startsWith('no-restricted'))
    .map(({ message }) => message)
}

test.each([
  ['workers/signal/x.ts', `import 'node:fs'\n`],
  ['workers/signal/x.ts', `import '../../electron/home.ts'\n`],
  ['workers/signal/x.ts', `import '../../renderer/main.ts'\n`],
  ['workers/signal/x.ts', `export const now = Date.now()\n`],
  ['workers/signal/x.ts', `export const roll = Math.random()\n`],
  ['workers/signal/x.ts', `export const page = document\n`],
  ['electron/desk/x.ts', `import '../../renderer/main.ts'\n`],
  ['renderer/desk/x.ts', `import '../../electron/library/library.ts'\n`],
  ['renderer/desk/x.ts', `import 'node:fs'\n`],
])('%s may not say %s', async (filePath, code) => {
  expect(await complaints(filePath, code)).toHaveLength(1)
})

test.each([
  ['workers/signal/x.ts', `import '../flight/axes.ts'\n`],
  ['electron/desk/x.ts', `import '../../workers/flight/axes.ts'\nimport 'node:fs'\n`],
  [
    'renderer/desk/x.ts',
    `import '../../electron/desk/contract/calls.ts'\nimport '../../workers/flight/axes.ts'\n`,
  ],
])('%s may say %s', async (filePath, code) => {
  expect(await complaints(filePath, code)).toEqual([])
})
