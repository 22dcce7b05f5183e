/**
 * Imported first by every entry point. The database's native part ends the process without a word on an older
 * Node, so an older one is turned away here with words. npm scripts run the packaged Node by themselves.
 */
const NEEDED_MAJOR = 24

/** The sentence for a Node that is too old, or null. `version` is as in process.versions.node. */
export function nodeVersionFault(version: string): string | null {
  if (Number.parseInt(version, 10) >= NEEDED_MAJOR) return null
  return `This program needs Node ${NEEDED_MAJOR} or newer, and this is Node ${version}. Start it by "npm start" after "npm ci", which brings its own.`
}

const fault = nodeVersionFault(process.versions.node)
if (fault) {
  console.error(fault)
  process.exit(2)
}
