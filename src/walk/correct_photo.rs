//! `correct` of a picture: `correct L49.view[front] = front.jpg wrong side`. The name of a file has points and blanks
//! of its own, and what is in it is read by the console.

use crate::check::program::{Act, Kind, Program, Role};

use super::commands::{self, quoted};
use super::correct_said::{quoted_head, split_because, without_equals};
use super::entry;
use super::machine::Machine;

/// What stands behind `correct`, if it names a picture: as the grammar has it.
pub(super) fn completed(program: &Program, rest: &str) -> Option<String> {
    let end = match rest.find('[') {
        Some(open) if !rest[..open].contains(['=', ' ']) => rest.find(']')? + 1,
        _ => rest.find([' ', '=']).unwrap_or(rest.len()),
    };
    let (target, rest) = rest.split_at(end);
    let rest = without_equals(rest);
    if rest.is_empty() || !is_picture(program, target) {
        return None;
    }
    let (said, because) = split_because(rest).unwrap_or((rest, ""));
    let (file, behind) = match quoted_head(said) {
        Some((file, behind)) => (file.to_owned(), behind),
        None => {
            let end = said.find(char::is_whitespace).unwrap_or(said.len());
            (quoted(said[..end].trim_end_matches(',')), said[end..].trim())
        }
    };
    let reason = [because, behind, "typed wrong"].into_iter().find(|it| !it.is_empty())?;
    let reason = if reason.starts_with('"') { reason.to_owned() } else { quoted(reason) };
    Some(format!("correct {target} = {file} {reason}"))
}

fn is_picture(program: &Program, target: &str) -> bool {
    let target = target.split('[').next().unwrap_or(target);
    let name = target.rsplit('.').next().unwrap_or(target);
    program.values.iter().any(|value| {
        value.kind == Kind::Photo && value.name == name && matches!(value.role, Role::Observation { .. })
    })
}

impl Machine {
    /// The picture that such a line names.
    pub(super) fn picture_corrected(&self, line: &str) -> Option<String> {
        let line = commands::completed(&self.program, line, None);
        line.starts_with("correct ").then_some(())?;
        let step = self.asked_step().or(self.state.current);
        match commands::resolve(&self.program, &line, step).ok()? {
            Act::Correct { value, entry, .. } if self.program.values[value.0].kind == Kind::Photo => {
                Some(entry::unquoted(&entry))
            }
            _ => None,
        }
    }
}
