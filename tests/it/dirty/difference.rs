//! Two texts, line by line.

/// Lines of both texts in order: `- ` before those that only the first has, `+ ` before those that
/// only the second has.
pub fn of(a: &str, b: &str) -> String {
    let (a, b): (Vec<&str>, Vec<&str>) = (a.lines().collect(), b.lines().collect());
    let common = common(&a, &b);
    let (mut i, mut j, mut told) = (0, 0, String::new());
    while i < a.len() || j < b.len() {
        let (sign, line) = match (a.get(i), b.get(j)) {
            (Some(x), Some(y)) if x == y => ("  ", x),
            (Some(x), _) if j == b.len() || common[i + 1][j] >= common[i][j + 1] => ("- ", x),
            (_, Some(y)) => ("+ ", y),
            (Some(x), None) => ("- ", x),
            (None, None) => break,
        };
        i += usize::from(sign != "+ ");
        j += usize::from(sign != "- ");
        told.push_str(&format!("{sign}{line}\n"));
    }
    told
}

/// Length of the longest run of lines, gaps allowed, that the texts share from each place on.
fn common(a: &[&str], b: &[&str]) -> Vec<Vec<usize>> {
    let mut table = vec![vec![0; b.len() + 1]; a.len() + 1];
    for i in (0..a.len()).rev() {
        for j in (0..b.len()).rev() {
            table[i][j] = match a[i] == b[j] {
                true => table[i + 1][j + 1] + 1,
                false => table[i + 1][j].max(table[i][j + 1]),
            };
        }
    }
    table
}

#[test]
fn lines_that_differ_are_marked() {
    assert_eq!(of("a\nb\nc\n", "a\nx\nc\nd\n"), "  a\n- b\n+ x\n  c\n+ d\n");
}
