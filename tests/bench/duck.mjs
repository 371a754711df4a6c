// What DuckDB does of the same work, one piece a process:
//   node duck.mjs DIR-OF-PACKAGE open|load|slope|wear DATABASE [EXPORT|RESULT]
import { createRequire } from 'node:module';
const [, , packages, what, database, file] = process.argv;
const duckdb = createRequire(packages + '/')('@duckdb/node-api');
const sql = {
  open: 'SELECT 1',
  // typed, converted, on disk; the same columns as a reading has in the book
  load: `CREATE TABLE readings AS SELECT "Engine" AS engine, "Date" AS date, "Hours" AS meter,
    'lash' AS quantity, "Valve" AS valve, "Found (in)" * 25.4 AS found, "Left (in)" * 25.4 AS set_to,
    ("Temp F" - 32) / 1.8 AS temp_c, "Fitter" AS fitter
    FROM read_csv('${file}', header = true, dateformat = '%d.%m.%Y', columns = {'Engine': 'VARCHAR',
    'Date': 'DATE', 'Hours': 'DOUBLE', 'Valve': 'VARCHAR', 'Found (in)': 'DOUBLE',
    'Left (in)': 'DOUBLE', 'Temp F': 'DOUBLE', 'Fitter': 'VARCHAR'}); CHECKPOINT`,
  // found against the meter, as if nobody had ever set a valve
  slope: `COPY (SELECT engine, valve, count(*) AS n, regr_slope(found, meter) AS rate FROM readings
    GROUP BY engine, valve ORDER BY engine, valve) TO '${file}' (HEADER)`,
  // with the settings taken out: what valve-drift fits, less uncertainty, scatter and forecast
  wear: `COPY (SELECT engine, valve, count(*) AS n, regr_slope(found - moved, meter) AS rate FROM
    (SELECT *, coalesce(sum(set_to - found) OVER (PARTITION BY engine, valve ORDER BY date
    ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING), 0) AS moved FROM readings)
    GROUP BY engine, valve ORDER BY engine, valve) TO '${file}' (HEADER)`,
};
const instance = await duckdb.DuckDBInstance.create(database);
const connection = await instance.connect();
await connection.run(sql[what]);
connection.closeSync();
