/**
 * The address of a worker thread's entry that stands beside the module at `moduleUrl`: the source itself where Node
 * runs the sources, the built file (all bundles lie in one folder) where the main process was bundled.
 */
export function workerEntry(name: string, moduleUrl: string): URL {
  const extension = moduleUrl.endsWith('.ts') ? 'ts' : 'js'
  return new URL(`./${name}.${extension}`, moduleUrl)
}
