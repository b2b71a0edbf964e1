//! The plan as comma-separated lines (RFC 4180): one for each machine at a showing and each piece of work.

use booth::service_plan::{ServicePlan, Standing, WorkKind};
use jiff::{ToSpan, ZonedDateTime};
use logbook::Booth;

/// The heads of the columns.
const HEADS: [&str; 8] = ["kind", "starts", "ends", "place", "machine", "what", "minutes", "because"];

/// The plan as lines, with heads.
pub fn csv(plan: &ServicePlan<'_>, booth: &Booth) -> String {
    let mut out = line(&HEADS.map(str::to_owned));
    for showing in &plan.showings {
        let place = showing.place.map_or_else(String::new, |id| {
            booth.places.get(id).map_or_else(|| id.to_string(), |place| place.name.clone())
        });
        let minutes = (showing.ends.timestamp() - showing.starts.timestamp()).as_secs() / 60;
        let common = |machine: String, because: String| {
            let (starts, ends) = (moment(&showing.starts), moment(&showing.ends));
            let what = showing.title.to_owned();
            line(&[
                "showing".to_owned(),
                starts,
                ends,
                place.clone(),
                machine,
                what,
                minutes.to_string(),
                because,
            ])
        };
        for seat in &showing.machines {
            let because = match seat.standing {
                Standing::Pinned(entry) => format!("pinned by entry {entry}"),
                _ => seat.because.clone(),
            };
            out += &common(booth.machine_name(seat.machine).to_owned(), because);
        }
        for _ in 0..showing.missing {
            out += &common(String::new(), "a machine is lacking".to_owned());
        }
    }
    for session in &plan.sessions {
        let ends = session.starts.checked_add(session.minutes.minutes()).unwrap_or(session.starts.clone());
        for work in &session.work {
            let kind = match work.kind {
                WorkKind::Care => "care",
                WorkKind::Change => "change",
            };
            out += &line(&[
                kind.to_owned(),
                moment(&session.starts),
                moment(&ends),
                session.place.clone(),
                booth.machine_name(work.machine).to_owned(),
                work.words.clone(),
                crate::wording::tenths(work.minutes),
                work.because.clone(),
            ]);
        }
    }
    out
}

/// A moment as ISO 8601 with its offset.
fn moment(at: &ZonedDateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

fn line(fields: &[String; 8]) -> String {
    let quoted: Vec<String> = fields.iter().map(|field| quoted(field)).collect();
    format!("{}\r\n", quoted.join(","))
}

/// Quotes a field where it must be; a field that a spreadsheet would take for a formula gets an apostrophe.
fn quoted(field: &str) -> String {
    let field = if field.starts_with(['=', '+', '-', '@']) { format!("'{field}") } else { field.to_owned() };
    if field.contains([',', '"', '\n', '\r']) { format!("\"{}\"", field.replace('"', "\"\"")) } else { field }
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn fields_are_quoted_as_rfc_4180_says_and_never_become_formulas() {
        assert_eq!(quoted("plain"), "plain");
        assert_eq!(quoted("a, b"), "\"a, b\"");
        assert_eq!(quoted("the \"long\" one"), "\"the \"\"long\"\" one\"");
        assert_eq!(quoted("=1+1"), "'=1+1");
    }
}
