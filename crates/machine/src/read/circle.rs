//! Finds things that lead back to themselves: tasks that include each other, shafts that drive each other.

/// Says for each node whether it stands in a circle, given where each leads.
///
/// # Method
/// Nodes that lead nowhere, or to which nothing leads, are peeled off until none is left to peel; what stays stands in
/// a circle (or on a way from one circle to another). Takes time in proportion to nodes and edges.
pub(super) fn in_circles(leads_to: &[Vec<usize>]) -> Vec<bool> {
    let mut backwards = vec![Vec::new(); leads_to.len()];
    for (from, targets) in leads_to.iter().enumerate() {
        for to in targets {
            backwards[*to].push(from);
        }
    }
    let mut left = vec![true; leads_to.len()];
    peel(leads_to, &backwards, &mut left);
    peel(&backwards, leads_to, &mut left);
    left
}

/// Takes off every node that leads to nothing that is left.
fn peel(leads_to: &[Vec<usize>], backwards: &[Vec<usize>], left: &mut [bool]) {
    let mut ways: Vec<usize> =
        leads_to.iter().map(|targets| targets.iter().filter(|to| left[**to]).count()).collect();
    let mut loose: Vec<usize> = (0..ways.len()).filter(|node| left[*node] && ways[*node] == 0).collect();
    while let Some(node) = loose.pop() {
        left[node] = false;
        for from in backwards[node].iter().filter(|from| left[**from]) {
            ways[*from] -= 1;
            if ways[*from] == 0 {
                loose.push(*from);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::in_circles;

    #[test]
    fn circles_are_told_from_chains() {
        assert_eq!(in_circles(&[vec![1], vec![2], vec![]]), [false; 3]);
        assert_eq!(in_circles(&[vec![0]]), [true]);
        // 0 leads into the circle of 1 and 2, which leads out to 3.
        assert_eq!(in_circles(&[vec![1], vec![2], vec![1, 3], vec![]]), [false, true, true, false]);
        assert_eq!(in_circles(&[vec![1, 1], vec![]]), [false; 2]);
        assert_eq!(in_circles(&[]), [false; 0]);
    }
}
