//! What `correct` names: an entry at its station, or something that was moved or said in words, by its number.

use crate::diagnostic::{Code, Problem};
use crate::syntax::ast;

use super::answers::{count, day, entries, plain, properties, typed, which_entry};
use super::command::{Commands, Found, Standing};
use super::program::{Act, PutTo, SaidKind};

impl Commands {
    pub(super) fn correct(
        &self,
        at: Standing,
        target: &ast::Target,
        which: &ast::WhichEntry,
        time: Option<&ast::Quantity>,
        rows: &ast::Rows,
        reason: &ast::Prose,
    ) -> Found<Act> {
        let (value, mut picks) = self.target(at, target)?;
        picks.extend(self.row_picked(at, value, time, target.span)?);
        self.rows_fit(at, value, rows)?;
        let which = which_entry(which)?;
        match entries(rows).as_slice() {
            [entry] => Ok(Act::Correct { value, picks, which, entry: entry.clone(), reason: plain(reason) }),
            _ => Err(Box::new(
                Problem::fault(Code::ExampleEntry, rows.span, "one value is corrected at a time")
                    .help("pick its station: `correct L4.tilt[place 0 mm] = 0.6 \"sign mistyped\"`"),
            )),
        }
    }

    pub(super) fn put_right(
        &self,
        at: Standing,
        (kind, number): (&ast::Name, &ast::Number),
        part: Option<&ast::Name>,
        to: &ast::PutTo,
        reason: &ast::Prose,
    ) -> Found<Act> {
        let of = SaidKind::parse(&kind.text).ok_or_else(|| {
            let message = format!("`{}` is nothing that is counted", kind.text);
            Box::new(Problem::fault(Code::ExampleEntry, kind.span, message))
        })?;
        let to = match to {
            ast::PutTo::Never => PutTo::Never,
            ast::PutTo::Answer(answer) => PutTo::Typed(typed(answer)),
            ast::PutTo::Card(card) => {
                let instrument = self.instrument(&card.instrument)?;
                let known = at.program.instruments.get(instrument.0).map(|of| properties(of, &card.lines));
                PutTo::Card {
                    instrument,
                    number: plain(&card.number),
                    until: card.calibrated_until.as_ref().map(day).transpose()?,
                    known: known.transpose()?.unwrap_or_default(),
                }
            }
            ast::PutTo::Which(target) => {
                let (value, picks) = self.target(at, target)?;
                self.is_adjustment(at, value, target.span)?;
                PutTo::Which(value, picks)
            }
        };
        let part = part.map(|part| part.text.clone());
        Ok(Act::PutRight { kind: of, number: count(number)?, part, to, reason: plain(reason) })
    }
}
