//! Results that took a while to find, kept for as long as few others come: what is lost is found anew.

use std::{
    collections::VecDeque,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

/// So many results are kept: a recording's is at most a few megabytes.
const MOST: usize = 16;

/// The last results, by name. A name says everything that a result depends on.
pub struct Recent<T> {
    kept: Mutex<VecDeque<(String, Arc<T>)>>,
}

impl<T> Default for Recent<T> {
    fn default() -> Self {
        Self { kept: Mutex::default() }
    }
}

impl<T> Recent<T> {
    /// Returns a result that is still kept.
    pub fn get(&self, name: &str) -> Option<Arc<T>> {
        let mut kept = self.kept();
        let at = kept.iter().position(|(own, _)| own == name)?;
        // What is looked at stays longest.
        let found = kept.remove(at).expect("it was found there");
        kept.push_back(found.clone());
        Some(found.1)
    }

    /// Keeps a result, and lets the one go that was looked at longest ago if there are too many.
    pub fn keep(&self, name: String, result: T) -> Arc<T> {
        let result = Arc::new(result);
        let mut kept = self.kept();
        kept.retain(|(own, _)| *own != name);
        kept.push_back((name, Arc::clone(&result)));
        while kept.len() > MOST {
            kept.pop_front();
        }
        result
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<(String, Arc<T>)>> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn what_is_looked_at_stays_and_what_is_not_goes() {
        let recent = Recent::default();
        recent.keep("first".to_owned(), 0);
        recent.keep("second".to_owned(), 1);
        for n in 0..MOST - 1 {
            assert_eq!(*recent.get("first").unwrap(), 0);
            recent.keep(n.to_string(), n);
        }
        assert!(recent.get("second").is_none() && recent.get("first").is_some());
        recent.keep("first".to_owned(), 7);
        assert_eq!(*recent.get("first").unwrap(), 7);
    }
}
