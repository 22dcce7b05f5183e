import { existsSync, rmSync } from 'node:fs'

/**
 * A run of the peer: the file into a new table of 32-bit columns, in a database file or in memory. Null where it is
 * not installed.
 */
export async function duckdb(database: string): Promise<((path: string) => Promise<void>) | null> {
  const specifier = process.env['TWOPACK_DUCKDB'] ?? '@duckdb/node-api'
  const found = (await import(specifier).catch(() => null)) as { DuckDBInstance: DuckDB } | null
  if (!found) return null
  return async (path) => {
    for (const file of [database, `${database}.wal`]) if (existsSync(file)) rmSync(file)
    const instance = await found.DuckDBInstance.create(database, { threads: '2' })
    const connection = await instance.connect()
    await connection.run(
      `create table log as select columns(*)::float from read_csv('${path}', header = true)`,
    )
    if (database !== ':memory:') await connection.run('checkpoint')
    connection.closeSync()
    instance.closeSync()
  }
}

interface DuckDB {
  create(
    path: string,
    options: Record<string, string>,
  ): Promise<{
    connect(): Promise<{ run(sql: string): Promise<unknown>; closeSync(): void }>
    closeSync(): void
  }>
}
