//! The table of rooms and the picture of their modules in DEVELOPERS.md.

/// A row of the table.
#[derive(Debug, PartialEq)]
pub struct Room {
    pub name: String,
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
                let text = cells.get(cell).copied().unwrap_or_default();
                text.split('`').skip(1).step_by(2).map(str::to_owned).collect()
            };
            Room { name: quoted(1).concat(), imports: quoted(3) }
        })
        .collect()
}

/// The first block of plain text behind the table: a row for each room, its name at the margin, its modules in order behind it and on
/// lines that are indented; strokes between them only part groups.
pub fn picture(text: &str) -> Vec<(String, Vec<String>)> {
    let behind =
        text.lines().skip_while(|line| !line.starts_with("| room |")).skip_while(|line| *line != "```text").skip(1);
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for line in behind.take_while(|line| *line != "```") {
        let mut words = line.split_whitespace().filter(|word| *word != "|");
        if !line.starts_with(' ') {
            found.extend(words.next().map(|room| (room.to_owned(), Vec::new())));
        }
        if let Some((_, modules)) = found.last_mut() {
            modules.extend(words.map(str::to_owned));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_and_picture_are_read() {
        let text = "# Map\n\n| room | holds | may import |\n|---|---|---|\n| `pier` | `posts` | |\n| `keel` | x | `pier`, `buoy` |\n\n\
                    ```text\nkeel  fin | bulb\n      tip\npier  post\n```\n";
        let room = |name: &str, imports: &[&str]| Room {
            name: name.to_owned(),
            imports: imports.iter().map(|name| (*name).to_owned()).collect(),
        };
        assert_eq!(rooms(text), [room("pier", &[]), room("keel", &["pier", "buoy"])]);
        let words = |all: &[&str]| all.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
        let expected = [("keel".to_owned(), words(&["fin", "bulb", "tip"])), ("pier".to_owned(), words(&["post"]))];
        assert_eq!(picture(text), expected);
    }
}
