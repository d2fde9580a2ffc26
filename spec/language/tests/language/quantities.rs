//! Values as a person writes them.

use loadworthy_language::quantity::{Amount, Dimension, QuantityKind};

use Dimension as D;

fn si(kind: QuantityKind, text: &str) -> f64 {
    match kind.read(text) {
        Ok(Amount::Of(_, si)) => si,
        other => panic!("{text}: {other:?}"),
    }
}

#[test]
fn units_are_read_exactly() {
    let cases: &[(&str, Dimension, f64)] = &[
        ("650 V", D::Voltage, 650.0),
        ("650V", D::Voltage, 650.0),
        ("1.2 kV", D::Voltage, 1200.0),
        ("-15 V", D::Voltage, -15.0),
        ("\u{2212}15 V", D::Voltage, -15.0),
        ("+15 V", D::Voltage, 15.0),
        ("500 V DC", D::Voltage, 500.0),
        ("1e3 V", D::Voltage, 1000.0),
        (".5 V", D::Voltage, 0.5),
        ("5. V", D::Voltage, 5.0),
        ("450 A", D::Current, 450.0),
        ("120 mA", D::Current, 120e-3),
        ("70 kW", D::Power, 70e3),
        ("1.4 MW", D::Power, 1.4e6),
        ("36 mJ", D::Energy, 36e-3),
        ("1 kWh", D::Energy, 3.6e6),
        ("90 N m", D::Torque, 90.0),
        ("90 Nm", D::Torque, 90.0),
        ("90 N·m", D::Torque, 90.0),
        ("14 mohm", D::Resistance, 14e-3),
        ("0.35 mΩ", D::Resistance, 0.35e-3),
        ("0.35 m\u{2126}", D::Resistance, 0.35e-3),
        ("2 Mohm", D::Resistance, 2e6),
        ("210 uH", D::Inductance, 210e-6),
        ("210 \u{B5}H", D::Inductance, 210e-6),
        ("210 \u{3BC}H", D::Inductance, 210e-6),
        ("100 nH", D::Inductance, 100e-9),
        ("500 µF", D::Capacitance, 500e-6),
        ("8 kHz", D::Frequency, 8000.0),
        ("6500 1/min", D::Speed, 6500.0 / 60.0),
        ("-25 1/s", D::Speed, -25.0),
        ("90 deg", D::Angle, 0.25),
        ("90°", D::Angle, 0.25),
        ("3.141592653589793 rad", D::Angle, 0.5),
        ("-1.5 kN m", D::Torque, -1500.0),
        ("0.11 V s", D::FluxLinkage, 0.11),
        ("110 mWb", D::FluxLinkage, 0.11),
        ("1.3 T", D::FluxDensity, 1.3),
        ("48e3 A^2s", D::SquaredCurrentTime, 48e3),
        ("48000 A²·s", D::SquaredCurrentTime, 48e3),
        ("0.048 (kA)^2 s", D::SquaredCurrentTime, 48e3),
        ("2.1 uC", D::Charge, 2.1e-6),
        ("50 kV/us", D::SlewRate, 50e9),
        ("50 kV/µs", D::SlewRate, 50e9),
        ("50 V/ns", D::SlewRate, 50e9),
        ("2 A/ns", D::CurrentSlope, 2e9),
        ("2 kA/us", D::CurrentSlope, 2e9),
        ("90 S", D::Conductance, 90.0),
        ("2 us", D::Time, 2e-6),
        ("5 min", D::Time, 300.0),
        ("2 h", D::Time, 7200.0),
        ("65 degC", D::Temperature, 65.0),
        ("65 °C", D::Temperature, 65.0),
        ("65°C", D::Temperature, 65.0),
        ("65 \u{2103}", D::Temperature, 65.0),
        ("-40 degC", D::Temperature, -40.0),
        ("20 K", D::TemperatureDifference, 20.0),
        ("0.003 1/K", D::PerKelvin, 0.003),
        ("0.3 %/K", D::PerKelvin, 0.003),
        ("0.09 K/W", D::ThermalResistance, 0.09),
        ("35 K/kW", D::ThermalResistance, 35e-3),
        ("0.4 K cm^2/W", D::ContactResistance, 0.4e-4),
        ("40 K mm²/W", D::ContactResistance, 40e-6),
        ("8 L/min", D::VolumeFlow, 8.0 / 60_000.0),
        ("8 l/min", D::VolumeFlow, 8.0 / 60_000.0),
        ("0.5 m^3/h", D::VolumeFlow, 0.5 / 3600.0),
        ("25 mm", D::Length, 25e-3),
        ("14 cm^2", D::Area, 14e-4),
        ("30 mm²", D::Area, 30e-6),
        ("4 kPa", D::Pressure, 4000.0),
        ("1.5 bar", D::Pressure, 1.5e5),
        ("1.3 T", D::FluxDensity, 1.3),
        ("0.11 V s", D::FluxLinkage, 0.11),
        ("0.11 Wb", D::FluxLinkage, 0.11),
        ("160 A²s", D::SquaredCurrentTime, 160.0),
        ("2.1 uC", D::Charge, 2.1e-6),
        ("45 A h", D::Charge, 162_000.0),
        ("45 Ah", D::Charge, 162_000.0),
        ("3 kg", D::Mass, 3.0),
        ("480 W/K", D::HeatCapacityRate, 480.0),
        ("1.8 kJ/K", D::HeatCapacity, 1800.0),
        ("300 kW/m^3", D::LossDensity, 300_000.0),
        ("12 mW/cm^3", D::LossDensity, 12_000.0),
    ];
    for (text, dimension, expected) in cases {
        let read = si(QuantityKind::Plain(*dimension), text);
        assert_eq!(read.to_bits(), expected.to_bits(), "{text}: {read:e} for {expected:e}");
        if *dimension == D::Temperature {
            continue;
        }
        // Read without knowing what is asked for, the unit alone says what it is.
        let margin = QuantityKind::Margin.read(text.trim_start_matches(['-', '\u{2212}']));
        let of = margin.map(|amount| matches!(amount, Amount::Of(found, _) if found == *dimension));
        assert!(text.ends_with("DC") || of == Ok(true), "{text}");
    }
}

#[test]
fn words_and_shares() {
    let half = core::f64::consts::SQRT_2;
    let cases = [
        ("260 A rms", QuantityKind::RmsCurrent, 260.0),
        ("260 A peak", QuantityKind::RmsCurrent, 260.0 / half),
        ("330 V rms", QuantityKind::RmsVoltage, 330.0),
        ("0.33 kV peak", QuantityKind::RmsVoltage, 330.0 / half),
        ("1.5 kV peak", QuantityKind::PeakVoltage, 1500.0),
        ("1500 V", QuantityKind::PeakVoltage, 1500.0),
        ("1500 V DC", QuantityKind::PeakVoltage, 1500.0),
        ("80 %", QuantityKind::Ratio, 0.8),
        ("80%", QuantityKind::Ratio, 0.8),
        ("0.8", QuantityKind::Ratio, 0.8),
        ("1", QuantityKind::Ratio, 1.0),
        ("120 %", QuantityKind::Ratio, 1.2),
        ("0.88", QuantityKind::SignedRatio, 0.88),
        ("-0.88", QuantityKind::SignedRatio, -0.88),
        ("88 %", QuantityKind::SignedRatio, 0.88),
        ("20 s", QuantityKind::TimeOrContinuous, 20.0),
        ("20 K", QuantityKind::Margin, 20.0),
    ];
    for (text, kind, expected) in cases {
        assert_eq!(si(kind, text).to_bits(), f64::to_bits(expected), "{text}");
    }
    assert_eq!(QuantityKind::TimeOrContinuous.read("continuous"), Ok(Amount::Continuous));
}

#[test]
fn what_is_refused_is_told() {
    let current = QuantityKind::Plain(D::Current);
    let temperature = QuantityKind::Plain(D::Temperature);
    let time = QuantityKind::Plain(D::Time);
    let resistance = QuantityKind::Plain(D::Resistance);
    let thermal = QuantityKind::Plain(D::ThermalResistance);
    let cases = [
        (current, "40"),
        (current, "40 degC"),
        (current, "40 amps"),
        (current, "40 KA"),
        (current, "40 Axt"),
        (current, "a lot"),
        (current, ""),
        (current, "1,5 A"),
        (current, "1_000 A"),
        (current, "40 A rms"),
        (current, "NaN A"),
        (current, "inf A"),
        (current, "1e999 A"),
        (current, "1e40 MA"),
        (current, "0x10 A"),
        (current, "40 A A"),
        (current, "40 A/"),
        (current, "40 (A"),
        (current, "40 A^9"),
        (temperature, "65 C"),
        (temperature, "65 K"),
        (temperature, "65 deg C"),
        (temperature, "-300 degC"),
        (QuantityKind::Plain(D::TemperatureDifference), "20 degC"),
        (QuantityKind::Margin, "20 degC"),
        (QuantityKind::Margin, "-20 K"),
        (time, "5 mS"),
        (time, "5 sec"),
        (time, "-5 s"),
        (time, "2 H"),
        (resistance, "-3 ohm"),
        (resistance, "3 Ohms"),
        (thermal, "0.1 degC/W"),
        (thermal, "0.1 °C/W"),
        (QuantityKind::Plain(D::Frequency), "9600 1/min"),
        (QuantityKind::Plain(D::Frequency), "8 khz"),
        (QuantityKind::Plain(D::Speed), "6500 rpm"),
        (QuantityKind::Plain(D::Speed), "108 Hz"),
        (QuantityKind::Plain(D::Speed), "680 rad/s"),
        (QuantityKind::Plain(D::Torque), "90 J"),
        (QuantityKind::Plain(D::Torque), "90 N"),
        (QuantityKind::Plain(D::Torque), "90 nm"),
        (QuantityKind::Plain(D::Energy), "36 N m"),
        (QuantityKind::Plain(D::Angle), "90"),
        (QuantityKind::Plain(D::Angle), "90 degC"),
        (QuantityKind::Plain(D::Angle), "90 degrees"),
        (QuantityKind::Plain(D::FluxLinkage), "0.11 V/s"),
        (QuantityKind::Plain(D::SlewRate), "50 kV us"),
        (QuantityKind::Plain(D::SlewRate), "-50 kV/us"),
        (QuantityKind::Plain(D::CurrentSlope), "2 A"),
        (QuantityKind::Plain(D::SquaredCurrentTime), "48 kA2s"),
        (QuantityKind::Plain(D::SquaredCurrentTime), "48 kA^2s"),
        (QuantityKind::Plain(D::SquaredCurrentTime), "48 kA² s"),
        (temperature, "65 deg"),
        (temperature, "65 celsius"),
        (QuantityKind::Plain(D::Area), "30 mm2"),
        (QuantityKind::Plain(D::ContactResistance), "0.4 K/W cm^2"),
        (QuantityKind::Plain(D::VolumeFlow), "8 lpm"),
        (QuantityKind::RmsCurrent, "260 A"),
        (QuantityKind::RmsCurrent, "260 A DC"),
        (QuantityKind::RmsCurrent, "260 V rms"),
        (QuantityKind::RmsCurrent, "-260 A rms"),
        (QuantityKind::RmsVoltage, "330 V RMS"),
        (QuantityKind::PeakVoltage, "1000 V rms"),
        (QuantityKind::PeakVoltage, "1500 Vpk"),
        (QuantityKind::PeakVoltage, "1500 A peak"),
        (QuantityKind::PeakVoltage, "1500"),
        (QuantityKind::Ratio, "80"),
        (QuantityKind::Ratio, "-5 %"),
        (QuantityKind::Ratio, "5 K"),
        (QuantityKind::SignedRatio, "1.2"),
        (QuantityKind::TimeOrContinuous, "Continuous"),
        (QuantityKind::TimeOrContinuous, "20"),
    ];
    let told = cases.map(|(kind, text)| match kind.read(text) {
        Ok(amount) => panic!("{text} was read as {amount:?}"),
        Err(fault) => {
            let way_out = fault.way_out.map(|way_out| format!(" > {way_out}")).unwrap_or_default();
            format!("expects {}, found {}{way_out}", fault.expected, fault.found)
        }
    });
    insta::assert_snapshot!(told.join("\n"));
}

proptest::proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,40}") {
        for dimension in Dimension::ALL {
            let _ = QuantityKind::Plain(*dimension).read(&text);
        }
        let _ = QuantityKind::RmsCurrent.read(&text);
        let _ = QuantityKind::Ratio.read(&text);
    }

    #[test]
    fn texts_made_of_units_never_panic_and_never_give_what_is_not_finite(
        text in "[-+0-9.eE]{0,12} ?[kMmuµn%/^()·* 1VAWsKhHzdegC°CohmΩLbarin²⁻]{0,14}( rms| peak| DC)?"
    ) {
        let kinds = Dimension::ALL.iter().map(|dimension| QuantityKind::Plain(*dimension));
        for kind in kinds.chain([QuantityKind::Margin, QuantityKind::RmsVoltage, QuantityKind::SignedRatio]) {
            if let Ok(Amount::Of(_, si)) = kind.read(&text) {
                proptest::prop_assert!(si.is_finite());
            }
        }
    }

    #[test]
    fn a_number_keeps_its_value(value in -1e9_f64..1e9) {
        let read = QuantityKind::Plain(Dimension::Voltage).read(&format!("{value} V"));
        proptest::prop_assert_eq!(read, Ok(Amount::Of(Dimension::Voltage, value)));
    }
}
