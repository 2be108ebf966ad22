//! Pages that are told block by block, whatever they are written in: Markdown or HTML.

/// What such a page is made of.
pub(super) trait Blocks {
    /// What stands on the first line, and must not be overlooked.
    fn warnings(&mut self, warnings: &[String]);
    fn heading(&mut self, level: usize, text: &str);
    fn paragraph(&mut self, text: &str);
    /// Nothing is written of an empty list.
    fn items(&mut self, items: &[String]);
    /// Nothing is written of a table without rows.
    fn table(&mut self, heading: &[&str], rows: &[Vec<String>]);
}
