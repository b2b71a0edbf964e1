//! Verifying a logbook in SQLite.

use super::{
    SqliteStore, layout,
    rows::{self, RawRow},
    scan, writing,
};
use crate::{
    AttachmentFault, DeviceHead, EntryStore, Finding, StoreError, Trouble, Verification,
    error::Doing,
    references,
    verify::{self, Suspect, Walk},
};
use logbook::{DeviceId, EntryId, wire};
use rusqlite::{Connection, params};
use std::{collections::HashSet, ops::ControlFlow, path::Path};

impl SqliteStore {
    /// Verifies and compares with heads that were noted earlier elsewhere: on paper, or in a backup's manifest.
    pub fn verify_against(&self, known: &[DeviceHead]) -> Result<Verification, StoreError> {
        let mut verification = verify(self)?;
        let connection = self.reader()?;
        for head in known {
            let there = writing::hash_at(&connection, head.device, head.number).doing("read", self.file())?;
            verification.compare_with(head, there);
        }
        Ok(verification)
    }

    /// Reads every attachment again, and looks whether all are there that entries name.
    pub fn verify_attachments(&self) -> Result<Vec<AttachmentFault>, StoreError> {
        let attachments = self.attachments();
        let mut faults = attachments.verify()?;
        let kept: HashSet<_> = attachments.list()?.into_iter().collect();
        let mut missing = HashSet::new();
        self.each_record(&mut |record| {
            let entry = wire::decode(&record.record);
            for id in references::attachments_of(&entry.fact) {
                if !kept.contains(&id) && missing.insert(id) {
                    faults.push(AttachmentFault::Missing { id, entry: entry.id });
                }
            }
            ControlFlow::Continue(())
        })?;
        Ok(faults)
    }
}

pub(super) fn verify(store: &SqliteStore) -> Result<Verification, StoreError> {
    let reader = store.reader()?;
    // One view of the file for all that follows; the parts read by other connections end where this view ends.
    let view = reader.unchecked_transaction().doing("read", store.file())?;
    match verify_view(store, &view) {
        Err(StoreError::Damaged { what, .. }) => Ok(Verification {
            findings: vec![Finding::of_file(Trouble::FileDamaged { what })],
            ..Verification::default()
        }),
        verified => verified,
    }
}

fn verify_view(store: &SqliteStore, view: &Connection) -> Result<Verification, StoreError> {
    let file = store.file();
    let mut heads: Vec<_> = rows::devices(view, file)?.into_iter().map(|known| known.head).collect();
    let walk = walk(store, scan::latest_seq(view, file)?)?;
    let mut findings = guards(view).doing("verify", file)?;
    for head in heads.iter().filter(|head| !walk.is_sound_up_to(head)) {
        findings.extend(verify::diagnose(head, suspects(view, file, head.device)?));
    }
    let mut strangers: Vec<_> =
        walk.devices.keys().filter(|device| heads.iter().all(|head| head.device != **device)).collect();
    strangers.sort_unstable();
    for device in strangers {
        findings.extend(verify::of_stranger(*device, suspects(view, file, *device)?));
    }
    heads.retain(|head| head.number > 0);
    Ok(Verification { entries: walk.entries, heads, findings })
}

/// Walks along all chains, in threads.
fn walk(store: &SqliteStore, latest: u64) -> Result<Walk, StoreError> {
    // Arrival numbers begin at 1; what stands before was put there by other means.
    let mut parts = vec![i64::MIN..=0];
    parts.extend(scan::parts(0, latest));
    let mut walks = scan::in_parts(store, parts, |connection, part| {
        let mut walk = Walk::default();
        scan::rows_of(connection, store.file(), "record, hash", part, |row| {
            walk.step(row.device(), row.number(), row.canonical(), &row.hash());
            Ok(ControlFlow::Continue(()))
        })?;
        Ok(walk)
    })?
    .into_iter();
    let mut whole = walks.next().unwrap_or_default();
    walks.for_each(|next| whole.join(next));
    Ok(whole)
}

/// Returns all entries that claim a device.
fn suspects(connection: &Connection, file: &Path, device: DeviceId) -> Result<Vec<Suspect>, StoreError> {
    // Not by an index: it may be what is wrong.
    let columns = rows::COLUMNS;
    let sql = format!("SELECT {columns} FROM entry NOT INDEXED WHERE +substr(record, 17, 16) = ?1");
    let mut statement = connection.prepare(&sql).doing("verify", file)?;
    let mut found = statement.query(params![device.0.as_bytes()]).doing("verify", file)?;
    let mut suspects = Vec::new();
    while let Some(row) = found.next().doing("verify", file)?.map(RawRow::new) {
        let (seq, number, id, hash) = (row.seq_as_it_is(), row.number(), row.id(), row.hash());
        suspects.push(Suspect { seq, number, id, canonical: row.canonical().to_vec(), hash });
    }
    Ok(suspects)
}

/// Looks whether the file still refuses what it must, and whether it is whole.
fn guards(connection: &Connection) -> rusqlite::Result<Vec<Finding>> {
    let altered = layout::altered_guards(connection)?;
    let mut findings = Vec::new();
    if !altered.is_empty() {
        findings.extend(repeated_ids(connection)?);
    }
    findings.extend(altered.into_iter().map(|name| Finding::of_file(Trouble::GuardAltered { name })));
    if let Some(what) = layout::file_damage(connection)? {
        findings.push(Finding::of_file(Trouble::FileDamaged { what }));
    }
    Ok(findings)
}

/// Returns entries whose id stands in more than one place: while the guards stand there can be none.
fn repeated_ids(connection: &Connection) -> rusqlite::Result<Vec<Finding>> {
    let mut statement = connection.prepare(
        "SELECT record FROM entry NOT INDEXED WHERE +substr(record, 1, 16) IN
             (SELECT +substr(record, 1, 16) FROM entry NOT INDEXED GROUP BY 1 HAVING count(*) > 1)",
    )?;
    let mut found = statement.query([])?;
    let mut findings = Vec::new();
    while let Some(row) = found.next()?.map(RawRow::new) {
        let id: EntryId = row.id();
        findings.push(Finding::at(row.device(), row.number(), Some(id), Trouble::Duplicated));
    }
    Ok(findings)
}
