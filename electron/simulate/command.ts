import '../node-version.ts'
import { mkdir, writeFile } from 'node:fs/promises'
import { join, resolve } from 'node:path'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import { SCENARIOS } from '../../workers/model/scenarios.ts'
import { simulateScenario, type SimulationRequest } from '../../workers/model/simulate-scenario.ts'
import { readArguments } from './arguments.ts'
import { helpText } from './help.ts'

/** npm runs scripts in the project's folder; paths are meant from where the command was typed. */
const fromCaller = (path: string) => resolve(process.env['INIT_CWD'] ?? '.', path)

async function write(folder: string, name: string, content: Uint8Array | string): Promise<void> {
  try {
    await mkdir(folder, { recursive: true })
    await writeFile(join(folder, name), content)
  } catch (error) {
    throw new Problem(
      'disk',
      `Can't write ${join(folder, name)}: ${error instanceof Error ? error.message : String(error)}`,
    )
  }
}

async function fly(request: SimulationRequest, out: string): Promise<void> {
  const folder = fromCaller(out)
  for (const flight of simulateScenario(request)) {
    for (const file of flight.files) await write(folder, file.name, file.content)
    const { duration_s, rows, saturation } = flight.truth
    const limits = `motors out of range ${(100 * saturation.share).toFixed(1)} % of the time`
    console.log(`${flight.name}: ${duration_s.toFixed(1)} s, ${rows} rows, ${limits}`)
  }
  console.log(`Written to ${out}`)
}

try {
  const command = readArguments(process.argv.slice(2))
  if (command.what === 'help') console.log(helpText())
  else if (command.what === 'list') console.log(['demo', ...SCENARIOS.map((one) => one.name)].join('\n'))
  else await fly(command.request, command.out)
} catch (error) {
  if (!isProblem(error)) throw error
  console.error(error.message.replaceAll(/\s*\n\s*/g, ' '))
  process.exitCode = 2
}
