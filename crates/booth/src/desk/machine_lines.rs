//! What a technician asks first of the machine: its kind, its number, its hours; then the showing and the print.

use super::case::OpenFault;
use logbook::{
    Booth,
    booth::{Fault, Machine},
    fact::PrintSort,
};
use units::show;

impl OpenFault<'_> {
    /// Returns the machine's kind, number and hours, and the showing and print with which the fault was met, line by
    /// line. What nobody wrote down is left out, but for the number: it is on the machine.
    pub(super) fn machine_lines(&self) -> Vec<String> {
        let machine = self.about;
        let serial = if machine.serial.is_empty() { "not written down" } else { &machine.serial };
        let made = machine.made_year.map(|year| format!("Made: {year}"));
        let mut lines = vec![format!("Machine: {}", machine.name), format!("Kind: {}", self.kind.name)];
        lines.push(format!("Serial number: {serial}"));
        lines.extend(made);
        lines.extend(hours(machine));
        lines.extend(showing(self.booth, self.fault));
        lines.extend(print(self.booth, self.fault));
        lines
    }
}

/// What the meter showed when it was last read, and what the logbook counts.
fn hours(machine: &Machine) -> Vec<String> {
    let meter = machine.meter.as_ref();
    let read =
        meter.map(|meter| format!("Hour meter: {}, read on {}", show::hours(meter.reading), meter.at.date()));
    let least =
        if machine.hours_before_unknown { " at least, for its earlier hours are not known" } else { "" };
    let run = format!("Run by the logbook: {}{least}", show::hours(machine.clocks.hours_run()));
    read.into_iter().chain([run]).collect()
}

fn showing(booth: &Booth, fault: &Fault) -> Option<String> {
    let showing = booth.showings.get(fault.showing.as_ref()?)?;
    Some(format!("Showing: {}, {}", showing.title, showing.starts.strftime("%Y-%m-%d %H:%M")))
}

/// The print that was named, else those of the showing, and what sort it is.
fn print(booth: &Booth, fault: &Fault) -> Option<String> {
    let of_showing = || Some(&booth.showings.get(fault.showing.as_ref()?)?.prints);
    let ids = fault
        .print
        .as_ref()
        .map_or_else(|| of_showing().map_or(&[][..], Vec::as_slice), std::slice::from_ref);
    let titles: Vec<&str> = ids.iter().filter_map(|id| Some(booth.prints.get(id)?.title.as_str())).collect();
    let sort = fault.print_sort.map(|sort| match sort {
        PrintSort::Disposable => "may be lost",
        PrintSort::Lent => "a lender's",
        PrintSort::Only => "the only one",
    });
    let words = match (titles.is_empty(), sort) {
        (true, None) => return None,
        (true, Some(sort)) => sort.to_owned(),
        (false, None) => titles.join(", "),
        (false, Some(sort)) => format!("{} ({sort})", titles.join(", ")),
    };
    Some(format!("Print: {words}"))
}
