PRAGMA application_id = 1128810326;
BEGIN TRANSACTION;
CREATE TABLE attempts (
                n INTEGER PRIMARY KEY,
                id TEXT NOT NULL UNIQUE,
                run INTEGER NOT NULL REFERENCES runs (n),
                series INTEGER NOT NULL REFERENCES series (n),
                at REAL NOT NULL,
                change_ms REAL,
                clean INTEGER CHECK (clean IN (0, 1))
            ) STRICT;
INSERT INTO "attempts" VALUES(1,'attempt-1',1,1,1700000010.0,900.0,NULL);
INSERT INTO "attempts" VALUES(2,'attempt-2',1,1,1700000020.0,700.0,1);
INSERT INTO "attempts" VALUES(3,'attempt-3',1,1,1700000030.0,800.5,0);
INSERT INTO "attempts" VALUES(4,'attempt-4',1,1,1700000040.0,650.25,1);
INSERT INTO "attempts" VALUES(5,'attempt-5',2,2,1700000505.0,NULL,1);
INSERT INTO "attempts" VALUES(6,'attempt-6',2,2,1700000506.0,NULL,NULL);
INSERT INTO "attempts" VALUES(7,'attempt-7',2,3,1700000900.0,512.5,1);
INSERT INTO "attempts" VALUES(8,'attempt-8',3,4,1700001010.0,950.0,NULL);
CREATE TABLE fingers (
                attempt INTEGER NOT NULL REFERENCES measures (attempt) ON DELETE CASCADE,
                asked TEXT NOT NULL CHECK (asked IN ('kept', 'guide')),
                finger INTEGER NOT NULL CHECK (finger BETWEEN 1 AND 4),
                answer TEXT NOT NULL CHECK (answer IN ('yes', 'no', 'not heard')),
                PRIMARY KEY (attempt, asked, finger)
            ) STRICT, WITHOUT ROWID;
CREATE TABLE guitars (
                n INTEGER PRIMARY KEY,
                device TEXT NOT NULL,
                calibration TEXT NOT NULL,
                UNIQUE (device, calibration)
            ) STRICT;
INSERT INTO "guitars" VALUES(1,'Demo guitar:strings','none');
CREATE TABLE measures (
                attempt INTEGER PRIMARY KEY REFERENCES attempts (n) ON DELETE CASCADE,
                guitar INTEGER NOT NULL REFERENCES guitars (n),
                expected INTEGER NOT NULL CHECK (expected IN (0, 1)),
                strike_ms REAL,
                delay_ms REAL,
                lateness_ms REAL,
                gap_ms REAL,
                gap_melody_ms REAL,
                gap_bass_ms REAL,
                spread_ms REAL CHECK (spread_ms >= 0),
                direction TEXT CHECK (direction IN ('block', 'bass first', 'treble first')),
                balance REAL
            ) STRICT;
INSERT INTO "measures" VALUES(7,1,1,NULL,NULL,8.0,40.0,NULL,NULL,12.0,'block',NULL);
CREATE TABLE migrations (
                number INTEGER PRIMARY KEY,
                name TEXT NOT NULL,
                at TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'))
            ) STRICT;
INSERT INTO "migrations" VALUES(1,'runs, series and attempts','2025-01-01T00:00:00Z');
INSERT INTO "migrations" VALUES(2,'a summary beside each series','2025-01-01T00:00:00Z');
INSERT INTO "migrations" VALUES(3,'the measures of heard changes','2025-01-01T00:00:00Z');
INSERT INTO "migrations" VALUES(4,'read and recalled apart','2025-01-01T00:00:00Z');
INSERT INTO "migrations" VALUES(5,'runs read and recalled apart','2025-01-01T00:00:00Z');
CREATE TABLE notes (
                attempt INTEGER NOT NULL REFERENCES measures (attempt) ON DELETE CASCADE,
                what TEXT NOT NULL CHECK (what IN ('wrong', 'octave', 'missing')),
                place INTEGER NOT NULL,
                string INTEGER CHECK (string > 0),
                midi INTEGER NOT NULL CHECK (midi BETWEEN 0 AND 127),
                PRIMARY KEY (attempt, what, place)
            ) STRICT, WITHOUT ROWID;
CREATE TABLE runs (
                n INTEGER PRIMARY KEY,
                id TEXT NOT NULL UNIQUE,
                drill TEXT NOT NULL,
                at REAL NOT NULL,
                timing TEXT NOT NULL,
                tempo REAL CHECK (tempo > 0),
                asked INTEGER,
                landed INTEGER,
                remark TEXT
            , how TEXT NOT NULL DEFAULT 'read' CHECK (how IN ('read', 'recalled'))) STRICT;
INSERT INTO "runs" VALUES(1,'run-1','Two shapes',1700000000.0,'leave',NULL,NULL,NULL,'hands cold','read');
INSERT INTO "runs" VALUES(2,'run-2','On the beat',1700000500.0,'beat',60.0,8,7,NULL,'read');
INSERT INTO "runs" VALUES(3,'run-by-heart','Two shapes',1700001000.0,'leave',NULL,NULL,NULL,NULL,'recalled');
CREATE TABLE series (
                n INTEGER PRIMARY KEY,
                change TEXT NOT NULL,
                timing TEXT NOT NULL,
                source TEXT NOT NULL,
                tempo REAL CHECK (tempo > 0),
                texture TEXT NOT NULL
            , attempts INTEGER NOT NULL DEFAULT 0, best_ms REAL, median_ms REAL, clean INTEGER NOT NULL DEFAULT 0, answered INTEGER NOT NULL DEFAULT 0, last_at REAL, measured INTEGER NOT NULL DEFAULT 0, gap_ms REAL, spread_ms REAL, late_ms REAL, kept INTEGER NOT NULL DEFAULT 0, kept_answered INTEGER NOT NULL DEFAULT 0, how TEXT NOT NULL DEFAULT 'read' CHECK (how IN ('read', 'recalled'))) STRICT;
INSERT INTO "series" VALUES(1,'E2 A2 D3 G3 B3 E4 | 0 | x 0 2/2 2/3 1/1 0 | x 3/3 2/2 0 1/1 0','leave','keys',NULL,'block',4,650.25,750.25,2,3,1700000040.0,0,NULL,NULL,NULL,0,0,'read');
INSERT INTO "series" VALUES(2,'E2 A2 D3 G3 B3 E4 | 0 | x 0 2/2 2/3 1/1 0 | x 3/3 2/2 0 1/1 0','beat','pedal',60.0,'figure',2,NULL,NULL,1,1,1700000506.0,0,NULL,NULL,NULL,0,0,'read');
INSERT INTO "series" VALUES(3,'E2 A2 D3 G3 B3 E4 | 0 | x 0 2/2 2/3 1/1 0 | x 3/3 2/2 0 1/1 0','heard','Demo guitar:strings',72.0,'block',1,512.5,512.5,1,1,1700000900.0,1,40.0,12.0,8.0,0,0,'read');
INSERT INTO "series" VALUES(4,'E2 A2 D3 G3 B3 E4 | 0 | x 0 2/2 2/3 1/1 0 | x 3/3 2/2 0 1/1 0','leave','keys',NULL,'block',1,950.0,950.0,0,0,1700001010.0,0,NULL,NULL,NULL,0,0,'recalled');
CREATE INDEX runs_by_time ON runs (at);
CREATE INDEX attempts_by_series ON attempts (series, at, n, change_ms);
CREATE INDEX attempts_by_run ON attempts (run);
CREATE UNIQUE INDEX series_once ON series (change, timing, source, texture, ifnull(tempo, 0.0), how);
CREATE VIEW played AS
                SELECT a.n, a.series AS in_series, a.run AS in_run, a.id, r.id AS run, r.drill, a.at, s.change,
                    s.timing, s.source, s.tempo, s.texture, s.how, a.change_ms, a.clean, m.expected, m.strike_ms,
                    m.delay_ms, m.lateness_ms, m.gap_ms, m.gap_melody_ms, m.gap_bass_ms, m.spread_ms, m.direction,
                    m.balance, g.device, g.calibration
                FROM attempts AS a JOIN series AS s ON s.n = a.series JOIN runs AS r ON r.n = a.run
                LEFT JOIN measures AS m ON m.attempt = a.n LEFT JOIN guitars AS g ON g.n = m.guitar;
COMMIT;
