/** `npm run build:kernels`: compiles the AssemblyScript kernels under workers/ into TypeScript files beside their sources. */
import './node-version.ts'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

interface Kernel {
  /** Name of its source and of what it becomes. */
  readonly name: string
  readonly folder: string
  readonly options: readonly string[]
}

const KERNELS = {
  rows: {
    name: 'rows',
    folder: 'workers/text/kernel',
    options: ['--enable', 'simd', '--enable', 'relaxed-simd'],
  },
  spectra: {
    name: 'spectra',
    folder: 'workers/signal/kernel',
    options: ['--converge', '--enable', 'simd', '--enable', 'relaxed-simd'],
  },
  products: {
    name: 'products',
    folder: 'workers/signal/kernel',
    options: ['--converge', '--enable', 'simd', '--enable', 'relaxed-simd'],
  },
  systems: {
    name: 'systems',
    folder: 'workers/response/kernel',
    options: ['--converge', '--enable', 'simd', '--enable', 'relaxed-simd'],
  },
} as const satisfies Record<string, Kernel>

const PROJECT = join(import.meta.dirname, '..')

/** The compiled bytes of a kernel's source. Throws with the compiler's words when it does not compile. */
export async function compileKernel(which: keyof typeof KERNELS): Promise<Uint8Array> {
  const { name, folder, options }: Kernel = KERNELS[which]
  // Not a static import: the compiler is only needed by those who change a kernel.
  const compiler = await import('assemblyscript/asc')
  let binary: Uint8Array | null = null
  const { error, stderr } = await compiler.main(
    [
      `${name}.ts`,
      ...['-O3', '--noAssert', '--runtime', 'stub', '--importMemory', ...options],
      ...['--outFile', `${name}.wasm`],
    ],
    {
      // The compiler knows its sources as .ts; what it imports lies beside the first one.
      readFile: (file) => {
        const source = join(PROJECT, folder, file.replace(/\.ts$/, '.as'))
        return /^\w+\.ts$/.test(file) && existsSync(source) ? readFileSync(source, 'utf8') : null
      },
      writeFile: (_, content) => void (binary = content as Uint8Array),
      listFiles: () => [],
    },
  )
  if (error || !binary)
    throw new Error(`the kernel does not compile: ${error?.message ?? ''}\n${stderr.toString()}`)
  return binary
}

if (import.meta.main) {
  for (const which of Object.keys(KERNELS) as (keyof typeof KERNELS)[]) {
    const { name, folder } = KERNELS[which]
    const lines =
      Buffer.from(await compileKernel(which))
        .toString('base64')
        .match(/.{1,100}/g) ?? []
    writeFileSync(
      join(PROJECT, folder, `${name}-wasm.ts`),
      `/** ${name}.as compiled, by electron/build-kernels.ts. Don't edit. */\nexport const ${name.toUpperCase()}_WASM =\n${lines
        .map((line) => `  '${line}'`)
        .join(' +\n')}\n`,
    )
  }
}
