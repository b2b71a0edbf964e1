//! The machines at a glance.

use crate::{
    layout::{self, Section},
    trouble::Answered,
    visit::Visit,
};
use maud::html;
use views::html as show_as;

/// Shows every machine.
pub async fn show(visit: Visit) -> Answered {
    let answer = booth::machines(visit.booth(), visit.library(), &visit.now);
    let sheet = views::machines::sheet(&answer, visit.today());
    let main = html! {
        (show_as::sheet(&sheet))
        p.ways { a href="/log/machine-added?back=/machines" { "Add a machine" } }
    };
    Ok(layout::page(&visit, Section::Machines, &sheet.title, &main))
}
