//! Which law the lives speak for, how sure that is, and whether it can be theirs at all.

use lives::{
    fit::{Fit, shares},
    goodness::{Judgement, NotJudged},
};
use serde_json::{Value, json};

/// Sets of lives drawn where nobody said how many.
pub const RESAMPLES: u16 = 199;
/// A law is doubted where chance alone brings its lives so far from it less often than this. Usual, no source.
const DOUBTED: f64 = 0.05;
/// Two laws whose shares of belief differ less than this cannot be told apart: a difference of 2 in the criterion
/// (Burnham and Anderson 2002).
const TOLD_APART: f64 = std::f64::consts::E;

/// What came of judging.
pub type Judged = Result<Judgement, NotJudged>;

/// Puts fits in order, the best first; with too few failures for the criterion the simplest law stands.
pub fn best_first(fits: &mut Vec<Fit>) {
    let mut weighed: Vec<(f64, Fit)> = shares(fits).into_iter().zip(fits.drain(..)).collect();
    weighed.sort_by(|a, b| b.0.total_cmp(&a.0));
    fits.extend(weighed.into_iter().map(|(_, fit)| fit));
}

/// The laws beside each other, for scripts.
pub fn compared(fits: &[Fit]) -> Value {
    let compared = |(fit, share): (&Fit, f64)| {
        json!({
            "model": fit.model.name(),
            "log_likelihood": fit.ln_likelihood,
            "criterion": fit.criterion(),
            "corrected_criterion": fit.corrected_criterion(),
            "bayes_criterion": fit.bayes_criterion(),
            "share": share,
        })
    };
    fits.iter().zip(shares(fits)).map(compared).collect()
}

/// Why this law, and whether it can be the law of the lives.
pub fn sentences(fits: &[Fit], judged: Option<&Judged>) -> Vec<String> {
    let mut sentences: Vec<String> = chosen(fits).into_iter().collect();
    if let Some(Ok(judged)) = judged {
        sentences.push(format!(
            "lives drawn from the fitted law and watched as these were lie at least as far from it in {:.0} of 100 cases by Anderson's and Darling's distance ({:.3}), in {:.0} by Kolmogorov's ({:.3})",
            100.0 * judged.anderson_darling_p,
            judged.distances.anderson_darling,
            100.0 * judged.kolmogorov_p,
            judged.distances.kolmogorov
        ));
    }
    sentences
}

fn chosen(fits: &[Fit]) -> Option<String> {
    let [best, next, ..] = fits else { return None };
    let shares = shares(fits);
    let sure = if best.corrected_criterion().is_none() {
        "the simplest is taken: there are too few failures to compare laws".to_owned()
    } else if shares[0] < TOLD_APART * shares[1] {
        format!("so near the {} that these lives cannot tell them apart", next.model.name())
    } else {
        format!("{:.0} times as likely as the {}, which comes next", shares[0] / shares[1], next.model.name())
    };
    Some(format!(
        "of {} laws the {} has {:.0} in 100 of the belief (Akaike's corrected criterion); {sure}",
        fits.len(),
        best.model.name(),
        100.0 * shares[0]
    ))
}

/// What to beware of.
pub fn caveats(fit: &Fit, judged: Option<&Judged>) -> Vec<String> {
    let mut caveats = fit.caveats.clone();
    match judged {
        Some(Ok(judged)) if judged.anderson_darling_p.min(judged.kolmogorov_p) < DOUBTED => caveats.push(
            "hardly fits: lives from this law would seldom lie so far from it; several kinds of failure in one table do that"
                .to_owned(),
        ),
        Some(Err(why)) => caveats.push(format!("was not judged: {why}")),
        _ => {}
    }
    caveats
}

/// The same for people.
pub fn in_words(fits: &[Fit], judged: Option<&Judged>) -> String {
    let mut text = String::new();
    for sentence in sentences(fits, judged) {
        text += &format!("  {}.\n", begun_large(&sentence));
    }
    if let Some(fit) = fits.first() {
        let known = fit.caveats.len();
        for caveat in caveats(fit, judged).into_iter().skip(known) {
            text += &format!("  Beware: it {caveat}.\n");
        }
    }
    text
}

fn begun_large(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
