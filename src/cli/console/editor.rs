//! The line that is being typed: keys in, the text and its cursor out. Draws nothing, reads nothing.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use tui_input::{Input, InputRequest};

/// What a key leads to beside a changed line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pressed {
    Nothing,
    Enter,
    /// Ctrl-C.
    Interrupt,
    /// Ctrl-D on an empty line.
    End,
    /// Ctrl-L.
    Redraw,
    /// Ctrl-Z.
    Suspend,
}

/// So many lines typed before are kept to go back to.
const KEPT: usize = 200;

#[derive(Debug, Default)]
pub struct Editor {
    input: Input,
    sent: Vec<String>,
    /// Which of them is shown; none: the new line.
    at: Option<usize>,
    /// The new line, while another is shown.
    draft: String,
}

impl Editor {
    pub fn is_empty(&self) -> bool {
        self.input.value().is_empty()
    }

    /// What stands before the cursor and behind it.
    pub fn halves(&self) -> (&str, &str) {
        let value = self.input.value();
        let at = value.char_indices().nth(self.input.cursor()).map_or(value.len(), |(at, _)| at);
        value.split_at(at)
    }

    /// The line, which is then empty again; it can be gone back to.
    pub fn send(&mut self) -> String {
        let line = self.take();
        if !line.trim().is_empty() && self.sent.last() != Some(&line) {
            self.sent.push(line.clone());
            let surplus = self.sent.len().saturating_sub(KEPT);
            self.sent.drain(..surplus);
        }
        line
    }

    /// The line, which is kept nowhere.
    pub fn take(&mut self) -> String {
        self.at = None;
        self.draft.clear();
        self.input.value_and_reset()
    }

    /// A pasted column of numbers becomes a row.
    pub fn paste(&mut self, text: &str) {
        for letter in text.trim_end_matches(['\r', '\n']).chars() {
            let letter = if letter.is_control() { ' ' } else { letter };
            self.input.handle(InputRequest::InsertChar(letter));
        }
    }

    pub fn press(&mut self, key: KeyEvent) -> Pressed {
        use InputRequest as Do;
        if key.kind == KeyEventKind::Release {
            return Pressed::Nothing;
        }
        let held = key.modifiers;
        let control = held.contains(KeyModifiers::CONTROL) && !held.contains(KeyModifiers::ALT);
        let by_word = held.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
        let change = match key.code {
            // What was typed before the prompt stood ends its lines with a line feed, which is Ctrl-J.
            KeyCode::Enter => return Pressed::Enter,
            KeyCode::Char('j' | 'm') if control => return Pressed::Enter,
            KeyCode::Char('c') if control => return Pressed::Interrupt,
            KeyCode::Char('d') if control && self.is_empty() => return Pressed::End,
            KeyCode::Char('l') if control => return Pressed::Redraw,
            KeyCode::Char('z') if control => return Pressed::Suspend,
            KeyCode::Up => return self.go(true),
            KeyCode::Down => return self.go(false),
            KeyCode::Char('p') if control => return self.go(true),
            KeyCode::Char('n') if control => return self.go(false),
            KeyCode::Char('d') if control => Do::DeleteNextChar,
            KeyCode::Char('a') if control => Do::GoToStart,
            KeyCode::Char('e') if control => Do::GoToEnd,
            KeyCode::Char('b') if control => Do::GoToPrevChar,
            KeyCode::Char('f') if control => Do::GoToNextChar,
            KeyCode::Char('h') if control => Do::DeletePrevChar,
            KeyCode::Char('k') if control => Do::DeleteTillEnd,
            KeyCode::Char('u') if control => Do::DeleteFromStart,
            KeyCode::Char('w') if control => Do::DeletePrevWord,
            KeyCode::Char('y') if control => Do::Yank,
            KeyCode::Char('b') if by_word => Do::GoToPrevWord,
            KeyCode::Char('f') if by_word => Do::GoToNextWord,
            KeyCode::Char('d') if by_word => Do::DeleteNextWord,
            KeyCode::Backspace if by_word => Do::DeletePrevWord,
            KeyCode::Backspace => Do::DeletePrevChar,
            KeyCode::Delete => Do::DeleteNextChar,
            KeyCode::Left if by_word => Do::GoToPrevWord,
            KeyCode::Right if by_word => Do::GoToNextWord,
            KeyCode::Left => Do::GoToPrevChar,
            KeyCode::Right => Do::GoToNextChar,
            KeyCode::Home => Do::GoToStart,
            KeyCode::End => Do::GoToEnd,
            KeyCode::Tab => Do::InsertChar(' '),
            KeyCode::Char(letter) if !control => Do::InsertChar(letter),
            _ => return Pressed::Nothing,
        };
        self.input.handle(change);
        Pressed::Nothing
    }

    /// To the line typed before the one shown, or back toward the new one.
    fn go(&mut self, back: bool) -> Pressed {
        let newest = self.sent.len();
        let at = self.at.unwrap_or(newest);
        let to = if back { at.saturating_sub(1) } else { (at + 1).min(newest) };
        if to == at {
            return Pressed::Nothing;
        }
        if self.at.is_none() {
            self.draft = self.input.value().to_owned();
        }
        self.at = (to < newest).then_some(to);
        let line = self.sent.get(to).unwrap_or(&self.draft).clone();
        self.input = Input::new(line);
        Pressed::Nothing
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(editor: &mut Editor, text: &str) {
        for letter in text.chars() {
            editor.press(KeyEvent::from(KeyCode::Char(letter)));
        }
    }

    fn control(letter: char) -> KeyEvent {
        KeyEvent::new(KeyCode::Char(letter), KeyModifiers::CONTROL)
    }

    #[test]
    fn a_slip_in_the_middle_is_mended_without_typing_the_rest_again() {
        let mut editor = Editor::default();
        typed(&mut editor, "0.012 0.4 \u{738b}");
        for _ in 0..3 {
            editor.press(KeyEvent::from(KeyCode::Left));
        }
        editor.press(KeyEvent::from(KeyCode::Backspace));
        typed(&mut editor, ",");
        assert_eq!(editor.halves(), ("0.012 0,", "4 \u{738b}"));
        assert_eq!(editor.send(), "0.012 0,4 \u{738b}");
        assert!(editor.is_empty());
    }

    #[test]
    fn lines_typed_before_come_back_and_the_half_typed_one_is_not_lost() {
        let mut editor = Editor::default();
        for line in ["0.1", "0.2"] {
            typed(&mut editor, line);
            editor.send();
        }
        typed(&mut editor, "no");
        editor.press(KeyEvent::from(KeyCode::Up));
        assert_eq!(editor.halves().0, "0.2");
        editor.press(KeyEvent::from(KeyCode::Up));
        editor.press(KeyEvent::from(KeyCode::Up));
        assert_eq!(editor.halves().0, "0.1");
        editor.press(KeyEvent::from(KeyCode::Down));
        editor.press(KeyEvent::from(KeyCode::Down));
        assert_eq!(editor.halves().0, "no");
    }

    #[test]
    fn a_pasted_column_is_a_row_and_control_d_ends_only_an_empty_line() {
        let mut editor = Editor::default();
        assert_eq!(editor.press(control('d')), Pressed::End);
        editor.paste("0\n-0.002\r\n-0.006\n");
        assert_eq!(editor.press(control('d')), Pressed::Nothing);
        assert_eq!(editor.send().split_whitespace().collect::<Vec<_>>(), ["0", "-0.002", "-0.006"]);
    }
}
