import { exportPath, type BroughtIn, type MadeFile } from '../../electron/desk/contract/archives.ts'
import type { Progress } from '../../electron/desk/contract/schemas.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call, sendArchive, stream, type Watch } from '../desk/client.ts'
import { countInWords } from '../logbook/words.ts'
import { saveFile } from '../share/save.ts'
import { currentSettings, parseSettings, takeSettings } from './program-settings.ts'

/**
 * The whole library and the program's settings, taken elsewhere and brought in: one thing at a time, with progress. It
 * goes on when the dialog is closed.
 */
class LibraryFiles {
  /** What is under way; null when nothing is. */
  progress = $state.raw<Progress | null>(null)
  problem = $state('')
  said = $state('')
  #stop = new AbortController()

  /** Forgets what was told, once it has been seen. */
  seen(): void {
    if (this.progress) return
    this.said = ''
    this.problem = ''
  }

  cancel(): void {
    this.#stop.abort()
  }

  /** Makes an archive of the whole library and has the window download it. */
  exportLibrary(samples: boolean): Promise<void> {
    return this.#run('Gathering the library', async (watch) => {
      this.said = download(await stream('library.export', { samples }, watch))
    })
  }

  /** Makes a table of all flights' measures and has the window download it. */
  exportMeasures(): Promise<void> {
    return this.#run('Measuring the flights', async (watch) => {
      this.said = download(await stream('library.measures', {}, watch))
    })
  }

  /** Brings an archive in; that can be undone. */
  importLibrary(file: File): Promise<void> {
    return this.#run('Taking the archive in', async (watch) => {
      const told = await sendArchive(file, watch)
      this.said = inWords(told)
      const { importId } = told
      undoStack.did({
        name: 'bring in a library',
        undo: async () => void (await call('library.takeBack', { importId })),
        redo: async () => void (await stream('library.importAgain', { importId })),
      })
    })
  }

  exportSettings(): Promise<void> {
    return this.#run('Gathering the settings', async () => {
      const text = `${JSON.stringify(await currentSettings(), null, 2)}\n`
      saveFile(new Blob([text], { type: 'application/json' }), 'twopack-settings.json')
      this.said = 'Saved as twopack-settings.json.'
    })
  }

  importSettings(file: File): Promise<void> {
    return this.#run('Taking the settings in', async () => {
      await takeSettings(parseSettings(await file.text()))
      this.said = `The settings of ${file.name} are in force.`
    })
  }

  async #run(phase: string, work: (watch: Watch) => Promise<void>): Promise<void> {
    if (this.progress) return
    this.#stop = new AbortController()
    this.progress = { phase, done: 0 }
    this.problem = ''
    this.said = ''
    try {
      await work({ signal: this.#stop.signal, onProgress: (progress) => (this.progress = progress) })
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code === 'cancelled') this.said = 'Cancelled; nothing was changed.'
      else this.problem = error.message
    } finally {
      this.progress = null
    }
  }
}

export const libraryFiles = new LibraryFiles()

/** Has the window fetch a made file as a download; returns what to tell. */
function download({ exportId, fileName }: MadeFile): string {
  const link = document.createElement('a')
  link.href = exportPath(exportId)
  link.download = fileName
  link.click()
  return `Saved as ${fileName}.`
}

/** 'Brought in 3 flights, 1 moment and 0 changes; 2 flights were there already.' */
function inWords({ flights, moments, changes, withoutSamples }: BroughtIn): string {
  const added = `${countInWords(flights.added, 'flight')}, ${countInWords(moments.added, 'moment')} and ${countInWords(changes.added, 'change')}`
  const known =
    flights.known === 0 ? '' : `; ${countInWords(flights.known, 'flight')} of it stood here already`
  const lacking =
    withoutSamples === 0
      ? ''
      : ` ${countInWords(withoutSamples, 'log')} came without samples: add the log again to look at its flights.`
  return `Brought in ${added}${known}.${lacking}`
}
