/** `node serve.ts HOME WINDOW_ROOT [--demo] [file...]`: the program without its window, for one test. */
import '../../../electron/node-version.ts'
import { runLoopback } from '../../../electron/launch/loopback-host.ts'

const [home, windowRoot, ...rest] = process.argv.slice(2)
if (!home || !windowRoot) throw new Error('serve.ts needs a data folder and the window’s folder')
process.exitCode = await runLoopback({
  home,
  windowRoot,
  port: 0,
  files: rest.filter((argument) => argument !== '--demo'),
  openWindow: false,
  demo: rest.includes('--demo'),
  say: (line) => console.log(line),
})
