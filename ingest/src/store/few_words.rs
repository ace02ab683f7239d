//! Text columns of few different words, kept as numbers with the words beside them: ten million
//! names as text would be copied and compared one by one.

use polars::prelude::*;

/// Most different words of a column that is kept so: every row group repeats them all.
const FEW: usize = 4096;

/// The words of a column, by place.
pub(super) enum Words<'w> {
    /// A type of polars' own that holds them.
    Few(DataType),
    /// Too many for that: each row holds its own.
    Many(Vec<&'w str>),
}

impl<'w> Words<'w> {
    /// No word may stand twice.
    pub(super) fn new(words: Vec<&'w str>) -> PolarsResult<Self> {
        if words.len() > FEW {
            return Ok(Words::Many(words));
        }
        let frozen = FrozenCategories::new(words)?;
        Ok(Words::Few(DataType::from_frozen_categories(frozen)))
    }

    /// A column of words by their places.
    pub(super) fn column(
        &self,
        name: &str,
        places: impl Iterator<Item = Option<u32>>,
    ) -> PolarsResult<Column> {
        let name = name.into();
        let kind = match self {
            Words::Few(kind) => kind.clone(),
            Words::Many(words) => {
                let texts = places.map(|place| Some(words[place? as usize]));
                return Ok(StringChunked::from_iter_options(name, texts).into_column());
            }
        };
        // a place below the number of words fits the number type that was chosen for it
        Ok(match kind.cat_physical()? {
            CategoricalPhysical::U8 => {
                let numbers = places.map(|place| Some(place? as u8));
                let numbers = ChunkedArray::<UInt8Type>::from_iter_options(name, numbers);
                Categorical8Chunked::from_cats_and_dtype(numbers, kind).into_column()
            }
            CategoricalPhysical::U16 => {
                let numbers = places.map(|place| Some(place? as u16));
                let numbers = ChunkedArray::<UInt16Type>::from_iter_options(name, numbers);
                Categorical16Chunked::from_cats_and_dtype(numbers, kind).into_column()
            }
            CategoricalPhysical::U32 => {
                let numbers = UInt32Chunked::from_iter_options(name, places);
                Categorical32Chunked::from_cats_and_dtype(numbers, kind).into_column()
            }
        })
    }
}

/// A text column, whichever way it is kept.
#[derive(Clone, Copy)]
pub(super) enum Texts<'c> {
    Whole(&'c StringChunked),
    Few8(&'c Categorical8Chunked),
    Few16(&'c Categorical16Chunked),
    Few32(&'c Categorical32Chunked),
}

impl<'c> Texts<'c> {
    pub(super) fn of(column: &'c Column) -> PolarsResult<Self> {
        let DataType::Enum(words, _) = column.dtype() else {
            return column.str().map(Texts::Whole);
        };
        match words.physical() {
            CategoricalPhysical::U8 => column.cat8().map(Texts::Few8),
            CategoricalPhysical::U16 => column.cat16().map(Texts::Few16),
            CategoricalPhysical::U32 => column.cat32().map(Texts::Few32),
        }
    }

    pub(super) fn iter(self) -> Box<dyn Iterator<Item = Option<&'c str>> + 'c> {
        match self {
            Texts::Whole(texts) => Box::new(texts.iter()),
            Texts::Few8(words) => Box::new(words.iter_str()),
            Texts::Few16(words) => Box::new(words.iter_str()),
            Texts::Few32(words) => Box::new(words.iter_str()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Words that fit one byte, two bytes, and no number kept so.
    #[test]
    fn columns_say_the_words_of_their_places() {
        for number in [1, 255, 256, FEW, FEW + 1] {
            let names: Vec<String> = (0..number).map(|n| format!("word {n}")).collect();
            let words = Words::new(names.iter().map(String::as_str).collect()).unwrap();
            let places = [Some(0), None, Some(number as u32 - 1), Some(0)];
            let column = words.column("name", places.into_iter()).unwrap();
            let is_text = column.dtype() == &DataType::String;
            assert_eq!(is_text, number > FEW, "{number}");
            let read: Vec<_> = Texts::of(&column).unwrap().iter().collect();
            let expected = places.map(|place| place.map(|p| names[p as usize].as_str()));
            assert_eq!(read, expected, "{number}");
        }
    }

    #[test]
    fn no_word_may_stand_twice() {
        assert!(Words::new(vec!["a", "b", "a"]).is_err());
    }
}
