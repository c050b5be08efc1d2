//! Bakes bodies and prints what became of every surface: `bake <models> <out> [body]`.

#![expect(
    clippy::print_stdout,
    reason = "a command speaks to the person who started it"
)]

use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().collect();
    let [_, models, out, rest @ ..] = args.as_slice() else {
        return Err("usage: bake <models> <out> [body]".into());
    };
    std::fs::create_dir_all(out)?;
    for body in sculpt::BODIES {
        if rest.first().is_some_and(|b| b != body) {
            continue;
        }
        let started = std::time::Instant::now();
        let baked = sculpt::bake(Path::new(models), body, &mut |_| ())?;
        for (extension, bytes) in [("glb", &baked.glb), ("json", &baked.catalogue)] {
            std::fs::write(Path::new(out).join(format!("{body}.{extension}")), bytes)?;
        }
        let mut report =
            String::from("node,triangles,raw,step,error,error99,tolerance,parts,volume_ml\n");
        for r in &baked.report {
            report += &format!(
                "{},{},{},{:.2},{:.3},{:.3},{:.2},{},{:.3}\n",
                r.node,
                r.triangles,
                r.raw_triangles,
                r.step,
                r.largest_error,
                r.error_99,
                r.tolerance,
                r.parts,
                r.volume_ml
            );
        }
        std::fs::write(Path::new(out).join(format!("{body}.report.csv")), report)?;
        let triangles: usize = baked.report.iter().map(|r| r.triangles).sum();
        let raw: usize = baked.report.iter().map(|r| r.raw_triangles).sum();
        println!(
            "{body}: {} surfaces, {triangles} of {raw} triangles, {} kB, {:.1} s",
            baked.report.len(),
            baked.glb.len() / 1000,
            started.elapsed().as_secs_f64()
        );
    }
    Ok(())
}
