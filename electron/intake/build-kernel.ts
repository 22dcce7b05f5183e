import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

const kernel = join(import.meta.dirname, '../../workers/text/kernel')

/** Compiles the kernel's source; needs the AssemblyScript compiler (package `assemblyscript`). */
export async function compileKernel(): Promise<Uint8Array> {
  // Not a static import: the compiler is only needed by those who change the kernel.
  const specifier = process.env['TWOPACK_ASC'] ?? 'assemblyscript/asc'
  const compiler = (await import(specifier)) as Compiler
  let binary: Uint8Array | null = null
  const { error, stderr } = await compiler.main(
    [
      'rows.ts',
      '-O3',
      '--noAssert',
      '--runtime',
      'stub',
      '--importMemory',
      '--enable',
      'simd',
      '--outFile',
      'rows.wasm',
    ],
    {
      readFile: (name) => (name === 'rows.ts' ? readFileSync(join(kernel, 'rows.as'), 'utf8') : null),
      writeFile: (_, content) => void (binary = content as Uint8Array),
      listFiles: () => [],
    },
  )
  if (error || !binary)
    throw new Error(`the kernel does not compile: ${error?.message ?? ''}\n${stderr.toString()}`)
  return binary
}

interface Compiler {
  main(
    options: string[],
    files: {
      readFile(name: string): string | null
      writeFile(name: string, content: Uint8Array | string): void
      listFiles(): string[]
    },
  ): Promise<{ error: Error | null; stderr: { toString(): string } }>
}

if (import.meta.main) {
  const text = Buffer.from(await compileKernel()).toString('base64')
  const lines = text.match(/.{1,100}/g) ?? []
  writeFileSync(
    join(kernel, 'rows-wasm.ts'),
    `/** rows.as compiled, by electron/intake/build-kernel.ts. Don't edit. */\nexport const ROWS_WASM =\n${lines
      .map((line) => `  '${line}'`)
      .join(' +\n')}\n`,
  )
}
