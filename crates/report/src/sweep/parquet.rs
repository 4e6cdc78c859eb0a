//! Rows of a sweep from CSV to a Parquet file, some at a time.

use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use parquet::basic::Compression;
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType};
use parquet::errors::ParquetError as Inner;
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::file::writer::SerializedFileWriter;
use parquet::record::Field;
use parquet::schema::parser::parse_message_type;

use crate::files::write::{WriteError, write_whole_by};
use crate::sweep::rows::{COLUMNS, SweepRow};

/// Why there is no Parquet file.
#[derive(Debug, thiserror::Error)]
pub enum ParquetError {
    /// The rows can't be read again.
    #[error("the rows that were written can't be read again: {0}")]
    Read(#[from] csv::Error),
    /// One of them is none.
    #[error("line {line} of the rows that were written is none")]
    Row {
        /// From 1.
        line: u64,
    },
    /// The format's own writer refused.
    #[error("can't write Parquet: {0}")]
    Parquet(#[from] Inner),
    /// The disk refused.
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Rows in memory at a time.
const GROUP: usize = 65_536;

/// The columns of numbers that every row has, of those that a row without a lap lacks, and of words; in their order.
fn schema() -> String {
    let column = |(i, name): (usize, &&str)| match i {
        0..=2 | 10 => format!("required double {name};"),
        3..=9 => format!("optional double {name};"),
        11 => format!("required binary {name} (UTF8);"),
        _ => format!("optional binary {name} (UTF8);"),
    };
    format!("message sweep {{ {} }}", COLUMNS.iter().enumerate().map(column).collect::<Vec<_>>().join(" "))
}

/// Makes `target`, whole or not at all, of the rows in a file of CSV.
///
/// # Errors
/// [`ParquetError`].
pub fn convert(rows: &Path, target: &Path) -> Result<(), ParquetError> {
    let mut reader = csv::Reader::from_path(rows)?;
    write_whole_by(target, |file: &mut File| {
        let properties = WriterProperties::builder().set_compression(Compression::SNAPPY).build();
        let schema = Arc::new(parse_message_type(&schema())?);
        let mut writer = SerializedFileWriter::new(file, schema, Arc::new(properties))?;
        let mut group: Vec<SweepRow> = Vec::with_capacity(GROUP);
        for record in reader.records() {
            let record = record?;
            let line = record.position().map_or(0, csv::Position::line);
            group.push(SweepRow::read(record.iter()).ok_or(ParquetError::Row { line })?);
            if group.len() == GROUP {
                write(&mut writer, &group)?;
                group.clear();
            }
        }
        if !group.is_empty() {
            write(&mut writer, &group)?;
        }
        writer.close()?;
        Ok(())
    })
}

/// The rows of a Parquet file, one after the other, as far as `take` says yes.
///
/// # Errors
/// [`ParquetError`].
pub fn rows(path: &Path, take: &mut dyn FnMut(SweepRow) -> bool) -> Result<(), ParquetError> {
    let refused = |source| WriteError::Refused { path: path.to_owned(), step: "read", source };
    let reader = SerializedFileReader::new(File::open(path).map_err(refused)?)?;
    for (line, record) in reader.get_row_iter(None)?.enumerate() {
        let fields = record?.into_columns().into_iter().map(|(_, field)| match field {
            Field::Double(x) => x.to_string(),
            Field::Str(text) => text,
            _ => String::new(),
        });
        let fields: Vec<String> = fields.collect();
        let row =
            SweepRow::read(fields.iter().map(String::as_str)).ok_or(ParquetError::Row { line: line as u64 + 1 })?;
        if !take(row) {
            break;
        }
    }
    Ok(())
}

fn write<W: std::io::Write + Send>(writer: &mut SerializedFileWriter<W>, rows: &[SweepRow]) -> Result<(), Inner> {
    let mut group = writer.next_row_group()?;
    let records: Vec<_> = rows.iter().map(SweepRow::record).collect();
    let mut i = 0;
    while let Some(mut column) = group.next_column()? {
        let there: Vec<&str> = records.iter().map(|r| r[i].as_str()).filter(|f| !f.is_empty()).collect();
        let levels: Vec<i16> = records.iter().map(|r| i16::from(!r[i].is_empty())).collect();
        let optional = !matches!(i, 0..=2 | 10 | 11);
        let levels = optional.then_some(&levels[..]);
        if i < 11 {
            let numbers: Vec<f64> = there.iter().filter_map(|f| f.parse().ok()).collect();
            column.typed::<DoubleType>().write_batch(&numbers, levels, None)?;
        } else {
            let words: Vec<ByteArray> = there.iter().map(|f| ByteArray::from(*f)).collect();
            column.typed::<ByteArrayType>().write_batch(&words, levels, None)?;
        }
        column.close()?;
        i += 1;
    }
    group.close()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::sweep::rows::{SweepLap, lines};
    use parquet::record::RowAccessor;

    #[test]
    fn property_parquet_says_what_the_csv_says() {
        let folder = tempfile::tempdir().unwrap();
        let [rows, target] = ["rows.csv", "out.parquet"].map(|name| folder.path().join(name));
        let lap = SweepLap {
            lap_time_s: 80.0 / 3.0,
            delta_s: -0.1 / 3.0,
            slopes: [0.01, 0.02, 0.03],
            error_s: 1e-5,
            settled: true,
        };
        let row = |mass_kg: f64, fuel_l, lap| SweepRow {
            mass_kg,
            cg_height_mm: 481.3,
            front_share: 0.55,
            fuel_l,
            grip: 0.6,
            lap,
        };
        let all = [row(1100.0, None, Ok(lap)), row(1200.0, Some(5.0), Err("rolls over, \"here\"".into()))];
        let head = COLUMNS.map(ToOwned::to_owned);
        let records: Vec<_> = [head].into_iter().chain(all.iter().map(SweepRow::record)).collect();
        std::fs::write(&rows, lines(records.iter().map(|r| &r[..])).unwrap()).unwrap();
        convert(&rows, &target).unwrap();
        let mut again = Vec::new();
        super::rows(&target, &mut |row| {
            again.push(row);
            true
        })
        .unwrap();
        assert_eq!(again, all);
        let reader = SerializedFileReader::new(File::open(&target).unwrap()).unwrap();
        let names: Vec<String> =
            reader.metadata().file_metadata().schema().get_fields().iter().map(|f| f.name().to_owned()).collect();
        assert_eq!(names, COLUMNS);
        let read: Vec<_> = reader.get_row_iter(None).unwrap().map(Result::unwrap).collect();
        assert_eq!(read.len(), 2);
        assert_eq!((read[0].get_double(0).unwrap(), read[0].get_double(3).unwrap()), (1100.0, 80.0 / 3.0));
        assert_eq!(read[1].get_double(9).unwrap(), 5.0);
        assert_eq!(
            (read[0].get_string(11).unwrap().as_str(), read[1].get_string(12).unwrap().as_str()),
            ("ok", "rolls over, \"here\"")
        );
        assert!(read[1].get_double(3).is_err() && read[0].get_double(9).is_err());
    }

    #[test]
    fn bad_input_rows_that_are_none_leave_no_file() {
        let folder = tempfile::tempdir().unwrap();
        let [rows, target] = ["rows.csv", "out.parquet"].map(|name| folder.path().join(name));
        std::fs::write(&rows, format!("{}\n{}\n", COLUMNS.join(","), "1,2,3,,,,,,,,x,ok,")).unwrap();
        assert!(matches!(convert(&rows, &target), Err(ParquetError::Row { line: 2 })));
        assert!(!target.exists());
    }
}
