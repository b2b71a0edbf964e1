//! Where things are found: every thing that a view can point at, and its address on the pages.

use logbook::ids::{EntryId, FaultId, ItemId, MachineId, PlaceId, PrintId, ShowingId, SlotId};

/// Something that a view can lead to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Place {
    /// The coming showings.
    Tonight,
    /// A machine's film path.
    FilmPath(MachineId),
    /// One part in a machine's film path.
    Part(MachineId, SlotId),
    /// The walk along a machine's film path, for an event in the words of machine types (`before-showing`).
    Walk(MachineId, String),
    /// The diary.
    Diary,
    /// One showing.
    Showing(ShowingId),
    /// How a coming showing stands.
    Outlook(ShowingId),
    /// A form for a new showing.
    NewShowing,
    /// The service plan.
    Plan,
    /// Care that is due.
    Due,
    /// All machines.
    Machines,
    /// One machine.
    Machine(MachineId),
    /// The faults.
    Faults,
    /// What is wrong: asked of a machine, or of which machine first.
    NewFault(Option<MachineId>),
    /// One fault, on the desk.
    Fault(FaultId),
    /// A fault's request for repair.
    RepairRequest(FaultId),
    /// How long all parts last.
    Lives,
    /// How long the parts of one slot last, in machines of a type.
    PartLives(String, SlotId),
    /// The logbook.
    Logbook,
    /// The logbook's entries about one machine.
    LogbookOf(MachineId),
    /// One entry.
    Entry(EntryId),
    /// The choice of what to log.
    Log,
    /// A form for one kind of entry, with some of its fields filled in.
    LogKind(String, Vec<(String, String)>),
    /// A hall, booth or depot.
    Hall(PlaceId),
    /// The prints.
    Prints,
    /// A print.
    Print(PrintId),
    /// A form for what was done with a print, with some of its fields filled in.
    PrintHandled(PrintId, Vec<(String, String)>),
    /// The stores.
    Stores,
    /// What to order now.
    Shopping,
    /// One item of the stores.
    StoreItem(ItemId),
    /// A photo or recording by its SHA-256 in hex.
    Attachment(String),
    /// What this program is.
    About,
    /// The first questions.
    FirstRun,
}

impl Place {
    /// Returns the address on the pages.
    pub fn href(&self) -> String {
        match self {
            Self::Tonight => "/".to_owned(),
            Self::FilmPath(machine) => format!("/machines/{}/path", escaped(machine.as_str())),
            Self::Part(machine, slot) => {
                format!("/machines/{}/path/{}", escaped(machine.as_str()), escaped(slot.as_str()))
            }
            Self::Walk(machine, event) => {
                format!("/machines/{}/walk?for={}", escaped(machine.as_str()), escaped(event))
            }
            Self::Diary => "/diary".to_owned(),
            Self::Showing(showing) => format!("/diary/{}", escaped(showing.as_str())),
            Self::Outlook(showing) => format!("/diary/{}/outlook", escaped(showing.as_str())),
            Self::NewShowing => "/diary/new".to_owned(),
            Self::Plan => "/plan".to_owned(),
            Self::Due => "/due".to_owned(),
            Self::Machines => "/machines".to_owned(),
            Self::Machine(machine) => format!("/machines/{}", escaped(machine.as_str())),
            Self::Faults => "/faults".to_owned(),
            Self::NewFault(None) => "/faults/new".to_owned(),
            Self::NewFault(Some(machine)) => {
                format!("/faults/new?machine={}", escaped(machine.as_str()))
            }
            Self::Fault(fault) => format!("/faults/{}", escaped(fault.as_str())),
            Self::RepairRequest(fault) => format!("/faults/{}/request", escaped(fault.as_str())),
            Self::Lives => "/lives".to_owned(),
            Self::PartLives(kind, slot) => format!("/lives/{}/{}", escaped(kind), escaped(slot.as_str())),
            Self::Logbook => "/logbook".to_owned(),
            Self::LogbookOf(machine) => format!("/logbook?machine={}", escaped(machine.as_str())),
            Self::Entry(entry) => format!("/logbook/{entry}"),
            Self::Log => "/log".to_owned(),
            Self::LogKind(kind, filled) => with_query(&format!("/log/{}", escaped(kind)), filled),
            Self::Hall(place) => format!("/halls/{}", escaped(place.as_str())),
            Self::Stores => "/stores".to_owned(),
            Self::Shopping => "/shopping".to_owned(),
            Self::StoreItem(item) => format!("/stores/{}", escaped(item.as_str())),
            Self::Prints => "/prints".to_owned(),
            Self::Print(print) => format!("/prints/{}", escaped(print.as_str())),
            Self::PrintHandled(print, filled) => {
                with_query(&format!("/prints/{}/handled", escaped(print.as_str())), filled)
            }
            Self::Attachment(hash) => format!("/attachments/{}", escaped(hash)),
            Self::About => "/about".to_owned(),
            Self::FirstRun => "/first-run".to_owned(),
        }
    }
}

/// Adds a query to an address.
fn with_query(address: &str, pairs: &[(String, String)]) -> String {
    let pairs: Vec<String> =
        pairs.iter().map(|(name, value)| format!("{}={}", escaped(name), escaped(value))).collect();
    if pairs.is_empty() { address.to_owned() } else { format!("{address}?{}", pairs.join("&")) }
}

/// Escapes text for a path segment or a query value (RFC 3986: all but the unreserved characters).
pub fn escaped(text: &str) -> String {
    use std::fmt::Write;
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            write!(out, "%{byte:02X}").expect("writing to a string never fails");
        }
    }
    out
}
