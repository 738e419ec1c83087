//! Databases that would do something of their own when they are read.

use super::{Class, said_in_turn};
use std::path::PathBuf;

#[test]
fn databases_with_a_schema_of_their_own_are_refused_before_they_run() {
    let class = Class::new();
    let endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)";
    let columns = "'2026' AS started_at, NULL AS finished_at, '' AS build, '' AS task, '' AS mode,
        '' AS level, '1' AS seed, 60.0 AS refresh_hz, 1 AS planned_trials, '{}' AS settings";
    let schema =
        |change: &str| format!("PRAGMA writable_schema = ON; UPDATE sqlite_schema SET {change}");
    let mut cases: Vec<(String, &str)> = vec![
        (
            format!(
                "PRAGMA foreign_keys = OFF; DROP TABLE session;
                CREATE VIEW session AS {endless} SELECT i AS id, {columns} FROM n"
            ),
            "view session",
        ),
        (
            "CREATE TRIGGER more AFTER INSERT ON session BEGIN
            INSERT INTO trial SELECT * FROM trial; END"
                .to_owned(),
            "trigger more",
        ),
        ("CREATE VIRTUAL TABLE words USING fts3(a)".to_owned(), "words"),
        (
            "ALTER TABLE trial ADD COLUMN made BLOB AS (zeroblob(1000000000))".to_owned(),
            "table trial",
        ),
        ("CREATE INDEX odd ON trial (json_extract(u_resid, '$[0]'))".to_owned(), "index odd"),
        ("CREATE INDEX partly ON trial (block) WHERE block > 0".to_owned(), "index partly"),
        ("CREATE TABLE remark (session INTEGER, x TEXT)".to_owned(), "table remark"),
        ("DROP TABLE sitting_log".to_owned(), "lack the"),
        ("ALTER TABLE trial DROP COLUMN light".to_owned(), "table trial"),
        (schema("sql = replace(sql, 'STRICT', '') WHERE name = 'answer'"), "table answer"),
        (schema("sql = replace(sql, 'NOT NULL', '') WHERE name = 'trial'"), "table trial"),
        (format!("CREATE TABLE \"a{}[2J\" (x)", '\u{1b}'), "table a\\u{1b}[2J, which no version"),
        ("PRAGMA journal_mode = WAL".to_owned(), "are not stored as a hand-in's are"),
        ("PRAGMA user_version = 0".to_owned(), "no schema version"),
        ("PRAGMA user_version = 7777".to_owned(), "newer program (schema version 7777"),
        ("PRAGMA user_version = 1".to_owned(), "which no version of this program makes"),
        ("PRAGMA application_id = 1".to_owned(), "database of another program"),
    ];
    cases.push((
        (0..100).map(|i| format!("CREATE TABLE t{i} (x);")).collect(),
        "which no version of this program makes",
    ));
    let mut files: Vec<PathBuf> = cases
        .iter()
        .enumerate()
        .map(|(i, (sql, _))| class.altered(&format!("case {i}"), sql))
        .collect();
    let mut expected: Vec<&str> = cases.iter().map(|(_, said)| *said).collect();
    // Pages that are used twice or are none: scans of them run in circles or nowhere.
    let page = usize::from(u16::from_be_bytes([class.results[16], class.results[17]]));
    let pages = class.results.len() / page;
    for from in [1, pages / 2] {
        let mut bytes = class.results.clone();
        let copied = bytes[from * page..(from + 1) * page].to_vec();
        for to in 2..pages {
            bytes[to * page..(to + 1) * page].copy_from_slice(&copied);
        }
        files.push(class.packed(&format!("pages {from}"), &bytes, |_| {}));
        expected.push("is damaged");
    }
    files.push(class.packed("cut", &class.results[..class.results.len() - 100], |_| {}));
    expected.push("break off within a page");
    files.push(class.packed("short", &class.results[..page], |_| {}));
    expected.push("is damaged");
    files.push(class.packed("text", &b"SELECT 1; ".repeat(99), |_| {}));
    expected.push("no results file");
    files.push(class.packed("nothing", b"", |_| {}));
    expected.push("no results file");
    said_in_turn(&class.gather(&files), &expected);
}
