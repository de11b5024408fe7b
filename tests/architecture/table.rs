//! The table of rooms in DEVELOPERS.md.

/// A row of the table.
#[derive(Debug)]
pub struct Room {
    pub name: String,
    /// The modules it holds.
    pub modules: Vec<String>,
    /// The rooms it may import.
    pub imports: Vec<String>,
}

/// The rows under `| room | holds | may import |`, in order: what stands between back quotes counts.
pub fn rooms(text: &str) -> Vec<Room> {
    let rows = text.lines().skip_while(|line| !line.starts_with("| room |")).skip(2);
    rows.take_while(|line| line.starts_with('|'))
        .map(|line| {
            let cells: Vec<&str> = line.split('|').collect();
            let quoted = |cell: usize| -> Vec<String> {
                cells
                    .get(cell)
                    .map_or(Vec::new(), |cell| cell.split('`').skip(1).step_by(2).map(str::to_owned).collect())
            };
            Room { name: quoted(1).concat(), modules: quoted(2), imports: quoted(3) }
        })
        .collect()
}
