//! `[[remedy]]`.

use super::Known;
use super::chances::SHARE;
use super::step::{Step, check_access, check_dangers, check_hand, with_dangers_of};
use crate::care::MachineState;
use crate::part::Hand;
use crate::read::form::Form;
use crate::read::part::cautions;
use crate::trouble::{Access, Remedy, RemedyKind};

pub(super) fn remedy(form: &mut Form<'_, '_>, known: &Known<'_, '_>, accesses: &[Access]) -> Remedy {
    let names = known.names;
    let id = form.named("remedy");
    let faults = form.desk.count();
    let mut remedy = Remedy {
        name: form.text("name"),
        words: form.text("words"),
        kind: form.word("kind"),
        takes: form.minutes(),
        state: form.word("state"),
        access: form.maybe_reference("access", &names.accesses),
        who: form.word("who"),
        parts: form.references("parts", &names.parts),
        cures: form.cause_chances("cures", names, SHARE),
        spare: form.maybe_reference("spare", &names.spares),
        care: form.references("counts_as", &names.care),
        during_show: form.flag("during_show"),
        cautions: cautions(form),
        source: form.source(names),
        id,
    };
    // A stand-in for a misread word would only give echoes of the first fault.
    if form.desk.count() == faults {
        let touched = known.parts(&remedy.parts);
        let step = Step {
            state: remedy.state,
            who: remedy.who,
            access: remedy.access.as_ref(),
            touched: &touched,
            cautions: &remedy.cautions,
        };
        check_dangers(form, &step);
        check_hand(form, &step, |part| match remedy.kind {
            RemedyKind::Set => part.who.adjust,
            RemedyKind::Fit => part.who.replace,
            RemedyKind::Clean | RemedyKind::Oil => part.who.look,
            RemedyKind::Handle | RemedyKind::Print | RemedyKind::Room => Hand::Operator,
        });
        let open = check_access(form, &step, accesses);
        check_show(form, &remedy, open);
        check_parts(form, &remedy, known);
    }
    remedy.cautions = with_dangers_of(&remedy.cautions, &known.parts(&remedy.parts), remedy.state);
    remedy
}

/// What is done while an audience waits is done by an operator, without a tool at a cover, without a long cooling.
fn check_show(form: &Form<'_, '_>, remedy: &Remedy, open: Option<&Access>) {
    if !remedy.during_show {
        return;
    }
    let why = if remedy.who == Hand::Technician {
        "is for the technician"
    } else if remedy.state == MachineState::Cooled {
        "waits for the machine to cool"
    } else if open.is_some_and(|access| access.needs_tool) {
        "opens a cover that needs a tool"
    } else {
        return;
    };
    let what = format!("{} {why}, but is offered while the audience waits", form.what);
    form.note("during_show", what, "take during_show away");
}

fn check_parts(form: &Form<'_, '_>, remedy: &Remedy, known: &Known<'_, '_>) {
    let hands_on = !matches!(remedy.kind, RemedyKind::Print | RemedyKind::Room);
    if hands_on && remedy.parts.is_empty() {
        let right = "add parts = [\"…\"]; only remedies of kind `print` and `room` work on none";
        form.note("parts", format!("{} works on no part", form.what), right);
    }
    if let Some(spare) = remedy.spare.as_deref().and_then(|id| known.spare_of.get(id))
        && !spare.fits.iter().any(|slot| remedy.parts.contains(slot))
    {
        let what = format!("spare `{}` fits none of the parts of {}", spare.id, form.what);
        form.note("spare", what, "name the part that it is fitted to, or another spare");
    }
}
