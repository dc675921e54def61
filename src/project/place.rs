//! A place in a project: the way to a field from the top, as it is written in the file. Knows no
//! text.

use std::fmt;

/// The way to a field: `wheel.buttons[3].meter_ohm`. Entries of a list are numbered from 1, as a
/// person counts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place(pub Vec<Step>);

/// One step of the way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// A named field.
    Field(String),
    /// An entry of a list, from 0.
    Item(usize),
    /// A value of a map, by its key.
    Key(String),
}

impl Place {
    /// A field at the top.
    #[must_use]
    pub fn top(field: &str) -> Self {
        Self(vec![Step::Field(field.to_owned())])
    }

    /// A field of this.
    #[must_use]
    pub fn field(&self, name: &str) -> Self {
        self.with(Step::Field(name.to_owned()))
    }

    /// An entry of this list, from 0.
    #[must_use]
    pub fn item(&self, index: usize) -> Self {
        self.with(Step::Item(index))
    }

    /// The value of this map under a key.
    #[must_use]
    pub fn key(&self, key: impl fmt::Display) -> Self {
        self.with(Step::Key(key.to_string()))
    }

    fn with(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, step) in self.0.iter().enumerate() {
            match step {
                Step::Field(name) if index == 0 => f.write_str(name)?,
                Step::Field(name) => write!(f, ".{name}")?,
                Step::Item(item) => write!(f, "[{}]", item + 1)?,
                Step::Key(key) => write!(f, "[{key}]")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_written_as_the_way_to_it() {
        let place = Place::top("wheel").field("buttons").item(2).field("meter_ohm");
        assert_eq!(place.to_string(), "wheel.buttons[3].meter_ohm");
        assert_eq!(Place::top("learned").key("mute").to_string(), "learned[mute]");
    }
}
