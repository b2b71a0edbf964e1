//! Verifying a logbook in SQLite.

use super::{
    SqliteStore, layout,
    rows::{self, Devices},
    scan, writing,
};
use crate::{
    AttachmentFault, DeviceHead, Finding, StoreError, Trouble, Verification,
    error::Doing,
    ledger::Known,
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
        let devices = Devices::read(&connection, self.file())?;
        let mut hashes = Vec::with_capacity(known.len());
        for head in known {
            let device = devices.all().iter().find(|known| known.head.device == head.device);
            let hash = device.map(|device| writing::hash_at(&connection, device.key, head.number));
            hashes.push((*head, hash.transpose().doing("read", self.file())?.flatten()));
        }
        verification.compare_with(known, |head| {
            hashes.iter().find(|(known, _)| known == head).and_then(|(_, hash)| *hash)
        });
        Ok(verification)
    }

    /// Reads every attachment again, and looks whether all are there that entries name.
    pub fn verify_attachments(&self) -> Result<Vec<AttachmentFault>, StoreError> {
        use crate::EntryStore;
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
    let devices = Devices::read(view, file)?;
    let walk = walk(store, &devices, scan::latest_seq(view, file)?)?;
    let mut findings = guards(view).doing("verify", file)?;
    for known in devices.all().iter().filter(|known| !is_sound(known, &walk)) {
        findings.extend(verify::diagnose(&known.head, suspects(view, file, &devices, known.key)?));
    }
    let mut strangers: Vec<_> =
        walk.devices.keys().filter(|key| devices.all().iter().all(|known| known.key != **key)).collect();
    strangers.sort_unstable();
    for key in strangers {
        findings.extend(suspects(view, file, &devices, *key)?.iter().map(of_stranger));
    }
    let heads = devices.all().iter().map(|known| known.head).filter(|head| head.number > 0).collect();
    Ok(Verification { entries: walk.entries, heads, findings })
}

/// Walks along all chains, in threads.
fn walk(store: &SqliteStore, devices: &Devices, latest: u64) -> Result<Walk, StoreError> {
    let file = store.file();
    let mut walks = scan::in_parts(store, scan::parts(0, latest), |connection, part| {
        let mut walk = Walk::default();
        let mut canonical = Vec::with_capacity(1024);
        scan::rows_of(connection, file, devices, part, &mut |row| {
            match row {
                Ok(placed) => {
                    let chained = &placed.record;
                    wire::canonical_bytes(&chained.record, chained.number, &mut canonical);
                    walk.step(placed.device, chained.number, &canonical, &chained.hash);
                }
                Err(unreadable) => walk.unreadable(unreadable.device),
            }
            Ok(ControlFlow::Continue(()))
        })?;
        Ok(walk)
    })?
    .into_iter();
    let mut whole = walks.next().unwrap_or_default();
    walks.for_each(|next| whole.join(next));
    Ok(whole)
}

fn is_sound(known: &Known, walk: &Walk) -> bool {
    let stretch = walk.devices.get(&known.key);
    stretch.map_or(known.head.number == 0, |stretch| stretch.is_sound_up_to(&known.head))
}

fn suspects(
    connection: &Connection,
    file: &Path,
    devices: &Devices,
    key: i64,
) -> Result<Vec<Suspect>, StoreError> {
    // Not by the index: it may be what is wrong.
    let sql = format!("SELECT {} FROM entry NOT INDEXED WHERE device = ?1", rows::COLUMNS);
    let mut statement = connection.prepare(&sql).doing("verify", file)?;
    let mut found = statement.query(params![key]).doing("verify", file)?;
    let mut suspects = Vec::new();
    while let Some(row) = found.next().doing("verify", file)? {
        suspects.push(match rows::read(row, devices) {
            Ok(placed) => {
                let chained = &placed.record;
                let mut canonical = Vec::new();
                wire::canonical_bytes(&chained.record, chained.number, &mut canonical);
                let (number, id, hash) = (chained.number, chained.record.id, chained.hash);
                Suspect { seq: placed.seq, number, id, canonical, hash }
            }
            Err(row) => {
                Suspect { seq: row.seq, number: row.number, id: row.id, canonical: Vec::new(), hash: [0; 32] }
            }
        });
    }
    Ok(suspects)
}

fn of_stranger(suspect: &Suspect) -> Finding {
    Finding {
        first: suspect.number,
        last: suspect.number,
        id: Some(suspect.id),
        ..Finding::of_file(Trouble::UnknownDevice)
    }
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
        "SELECT entry.id, entry.number, device.device FROM entry NOT INDEXED JOIN device ON device.key = entry.device
         WHERE entry.id IN (SELECT id FROM entry NOT INDEXED GROUP BY id HAVING count(*) > 1)
           AND length(entry.id) = 16",
    )?;
    let repeated = statement.query_map([], |row| {
        let (id, number, device) = (row.get(0)?, row.get::<_, i64>(1)?, row.get(2)?);
        let id = EntryId(uuid::Uuid::from_bytes(id));
        let device = DeviceId(uuid::Uuid::from_bytes(device));
        Ok(Finding::at(device, number.max(0) as u64, Some(id), Trouble::Duplicated))
    })?;
    repeated.collect()
}
