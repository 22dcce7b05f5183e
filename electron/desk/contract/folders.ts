/** Folders whose logs come into the logbook by themselves, as the window is told of them. */
import * as v from 'valibot'
import { progressSchema } from './schemas.ts'

export const watchedFolderSchema = v.object({
  path: v.string(),
  /** 'failed' and 'stopped' folders are not looked through until asked for, or until they can be read again. */
  state: v.picklist(['waiting', 'queued', 'looking', 'watching', 'stopped', 'failed']),
  progress: v.nullable(progressSchema),
  /** What went wrong, in one sentence; '' when nothing did. */
  message: v.string(),
  /** Logs that lie in it. */
  logs: v.number(),
  /** The first of the files that are no logs, each with its sentence. */
  refused: v.array(v.object({ path: v.string(), problem: v.string() })),
  refusedCount: v.number(),
})
export type WatchedFolder = v.InferOutput<typeof watchedFolderSchema>

export const foldersSchema = v.object({ folders: v.array(watchedFolderSchema) })
