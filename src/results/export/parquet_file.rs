//! A Parquet file, so that any data engine can ask questions of millions of trials.

use super::{ColumnKind, ExportError, Selection, Table};
use crate::results::store::Store;
use crate::results::store_error::classify;
use parquet::basic::{Compression, LogicalType, Repetition, Type as PhysicalType};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::Type;
use rusqlite::types::ValueRef;
use std::io::Write;
use std::sync::Arc;

/// Rows held in memory at once.
const GROUP_ROWS: usize = 50_000;

/// The values of one column, missing ones apart.
enum Values {
    Integer(Vec<i64>),
    Real(Vec<f64>),
    Text(Vec<ByteArray>),
}

struct Buffer {
    values: Values,
    /// 1 where there is a value, 0 where it is missing.
    present: Vec<i16>,
}

impl Buffer {
    fn new(kind: ColumnKind) -> Self {
        let values = match kind {
            ColumnKind::Integer => Values::Integer(Vec::new()),
            ColumnKind::Real => Values::Real(Vec::new()),
            ColumnKind::Text => Values::Text(Vec::new()),
        };
        Self { values, present: Vec::new() }
    }

    fn push(&mut self, value: ValueRef<'_>) {
        let taken = match (&mut self.values, value) {
            (Values::Integer(values), ValueRef::Integer(number)) => {
                values.push(number);
                true
            }
            (Values::Real(values), ValueRef::Real(number)) => {
                values.push(number);
                true
            }
            (Values::Real(values), ValueRef::Integer(number)) => {
                values.push(number as f64);
                true
            }
            (Values::Text(values), ValueRef::Text(bytes) | ValueRef::Blob(bytes)) => {
                values.push(ByteArray::from(bytes.to_vec()));
                true
            }
            (Values::Text(values), ValueRef::Integer(number)) => {
                values.push(ByteArray::from(number.to_string().into_bytes()));
                true
            }
            (Values::Text(values), ValueRef::Real(number)) => {
                values.push(ByteArray::from(number.to_string().into_bytes()));
                true
            }
            _ => false,
        };
        self.present.push(i16::from(taken));
    }

    fn clear(&mut self) {
        match &mut self.values {
            Values::Integer(values) => values.clear(),
            Values::Real(values) => values.clear(),
            Values::Text(values) => values.clear(),
        }
        self.present.clear();
    }
}

fn schema(table: Table) -> Result<Type, parquet::errors::ParquetError> {
    let fields = table
        .columns()
        .iter()
        .map(|column| {
            let (physical, logical) = match column.kind() {
                ColumnKind::Integer => (PhysicalType::INT64, None),
                ColumnKind::Real => (PhysicalType::DOUBLE, None),
                ColumnKind::Text => (PhysicalType::BYTE_ARRAY, Some(LogicalType::String)),
            };
            Type::primitive_type_builder(column.name, physical)
                .with_repetition(Repetition::OPTIONAL)
                .with_logical_type(logical)
                .build()
                .map(Arc::new)
        })
        .collect::<Result<Vec<_>, _>>()?;
    Type::group_type_builder(table.name()).with_fields(fields).build()
}

impl Store {
    /// Writes the selected rows of a table as one Parquet file with its exported columns; their
    /// meanings are in the file's key-value metadata. Returns the number of rows.
    ///
    /// # Errors
    /// [`ExportError`] when reading or writing fails.
    pub fn export_parquet(
        &self,
        table: Table,
        selection: Selection<'_>,
        to: impl Write + Send,
    ) -> Result<u64, ExportError> {
        self.note_counted()?;
        let columns = table.columns();
        let meanings = columns
            .iter()
            .map(|column| {
                let text = format!("{} [{}]", column.meaning, column.unit);
                KeyValue::new(column.name.to_owned(), Some(text))
            })
            .collect();
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_key_value_metadata(Some(meanings))
            .build();
        let mut writer =
            SerializedFileWriter::new(to, Arc::new(schema(table)?), Arc::new(properties))?;
        let mut buffers: Vec<Buffer> =
            columns.iter().map(|column| Buffer::new(column.kind())).collect();
        let (mut held, mut written) = (0, 0);
        self.each_row(table, selection, |row| {
            for (index, buffer) in buffers.iter_mut().enumerate() {
                buffer.push(row.get_ref(index).map_err(|e| classify(&self.path, e))?);
            }
            held += 1;
            written += 1;
            if held == GROUP_ROWS {
                held = 0;
                write_group(writer.next_row_group()?, &mut buffers)?;
            }
            Ok::<(), ExportError>(())
        })?;
        if held > 0 {
            write_group(writer.next_row_group()?, &mut buffers)?;
        }
        writer.close()?;
        Ok(written)
    }
}

fn write_group<W: Write + Send>(
    mut group: SerializedRowGroupWriter<'_, W>,
    buffers: &mut [Buffer],
) -> Result<(), ExportError> {
    for buffer in buffers {
        let Some(mut column) = group.next_column()? else { break };
        let present = Some(buffer.present.as_slice());
        match &buffer.values {
            Values::Integer(values) => {
                column.typed::<Int64Type>().write_batch(values, present, None)?;
            }
            Values::Real(values) => {
                column.typed::<DoubleType>().write_batch(values, present, None)?;
            }
            Values::Text(values) => {
                column.typed::<ByteArrayType>().write_batch(values, present, None)?;
            }
        }
        column.close()?;
        buffer.clear();
    }
    group.close()?;
    Ok(())
}
