import './node-version.ts'
import { enableCompileCache } from 'node:module'

// What Node makes of the sources is kept between starts, for this thread and for those that it starts: a second less.
const { directory } = enableCompileCache()
if (directory) process.env['NODE_COMPILE_CACHE'] = directory

// Imported only now: what is imported above is compiled before the cache is there.
const { start } = await import('./launch/start.ts')
process.exitCode = await start(process.argv.slice(2))
