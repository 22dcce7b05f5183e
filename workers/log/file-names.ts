/** Endings of tables that may be logs: text, packed or not, and typed ones. What a file is, only a look into it tells. */
const ENDINGS =
  /\.(?:csv|tsv|tab|txt|log|dat|asc)(?:\.(?:gz|zst))?$|\.(?:parquet|pq|arrow|arrows|feather|ipc)$/i

/** Whether a file found in a folder is worth a look, by its name alone; hidden ones are not. */
export function mayBeLog(fileName: string): boolean {
  return !fileName.startsWith('.') && ENDINGS.test(fileName)
}
