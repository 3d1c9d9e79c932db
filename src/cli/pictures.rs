//! Renders pictures to files in memory.

use crate::error::{Problem, Result};
use crate::report::pictures::sketch::{Failure, Sketch};
use rayon::prelude::*;

/// The pictures as files in memory, each as SVG and as PNG.
pub fn drawn(sketches: &[(String, Sketch)]) -> Result<Vec<(String, Vec<u8>)>> {
    let files = |(name, sketch): &(String, Sketch)| -> Result<_> {
        let failed = |e: Failure| Problem::new(format!("the picture {name} cannot be drawn: {e}"));
        let (svg, png) = (sketch.svg(), sketch.png().map_err(failed)?);
        Ok([(format!("{name}.svg"), svg.into_bytes()), (format!("{name}.png"), png)])
    };
    let pairs: Vec<_> = sketches.par_iter().map(files).collect::<Result<_>>()?;
    Ok(pairs.into_iter().flatten().collect())
}
