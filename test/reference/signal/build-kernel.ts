import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

/**
 * Compiles workers/signal/kernel/spectra.as into spectra-wasm.ts beside it. Run in the project's root:
 *
 *     npm exec -- node test/reference/signal/build-kernel.ts
 *
 * Needs the AssemblyScript compiler (package `assemblyscript`), or its module's address in TWOPACK_ASC.
 */
const kernel = join(import.meta.dirname, '../../../workers/signal/kernel')

export async function compileKernel(): Promise<Uint8Array> {
  // Not a static import: the compiler is only needed by those who change the kernel.
  const specifier = process.env['TWOPACK_ASC'] ?? 'assemblyscript/asc'
  const compiler = (await import(specifier)) as Compiler
  let binary: Uint8Array | null = null
  const { error, stderr } = await compiler.main(
    [
      'spectra.ts',
      ...['-O3', '--converge', '--noAssert', '--runtime', 'stub', '--importMemory'],
      ...['--enable', 'simd', '--enable', 'relaxed-simd', '--outFile', 'spectra.wasm'],
    ],
    {
      readFile: (name) => (name === 'spectra.ts' ? readFileSync(join(kernel, 'spectra.as'), 'utf8') : null),
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
  const lines =
    Buffer.from(await compileKernel())
      .toString('base64')
      .match(/.{1,100}/g) ?? []
  writeFileSync(
    join(kernel, 'spectra-wasm.ts'),
    `/** spectra.as compiled, by test/reference/signal/build-kernel.ts. Don't edit. */\nexport const SPECTRA_WASM =\n${lines
      .map((line) => `  '${line}'`)
      .join(' +\n')}\n`,
  )
}
