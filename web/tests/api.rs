//! The calculators for programs, in a browser: what JavaScript gets is what `calc_core` found.

#![cfg(target_arch = "wasm32")]

use calc_core::calculator::{Inputs, Kind};
use serde_json::{Value, json};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};
use web::api::{Calculated, calculate, catalogue};

wasm_bindgen_test_configure!(run_in_browser);

fn seen(value: &JsValue) -> Value {
    let text = js_sys::JSON::stringify(value).expect("a plain value");
    serde_json::from_str(&String::from(text)).expect("JSON")
}

/// JavaScript writes 438 for 438.0.
fn with_floats(value: Value) -> Value {
    match value {
        Value::Number(number) => json!(number.as_f64()),
        Value::Array(values) => values.into_iter().map(with_floats).collect(),
        Value::Object(values) => values.into_iter().map(|(key, value)| (key, with_floats(value))).collect(),
        other => other,
    }
}

fn object(inputs: &Inputs) -> JsValue {
    let object = js_sys::Object::new();
    for (id, text) in inputs {
        js_sys::Reflect::set(&object, &id.as_str().into(), &text.as_str().into())
            .expect("an object takes it");
    }
    object.into()
}

/// Every calculator, with each of its choices and with a text that no field takes.
#[wasm_bindgen_test]
fn a_program_gets_what_the_pages_show() {
    let mut compared = 0;
    for entry in calc_core::calculators() {
        let mut cases = vec![Inputs::new()];
        for field in entry.run(&Inputs::new()).fields {
            if let Kind::Choice(choices) = &field.kind {
                cases.extend(
                    choices.iter().map(|choice| Inputs::from([(field.id.to_owned(), choice.id.clone())])),
                );
            }
            cases.push(Inputs::from([
                (field.id.to_owned(), "z".to_owned()),
                ("no-such-field".into(), "1".into()),
            ]));
        }
        for inputs in cases {
            let got = calculate(entry.sheet.id, object(&inputs)).expect("there is such a calculator");
            let native = Calculated::from(
                &calc_core::calculate(entry.sheet.id, &inputs).expect("there is such a calculator"),
            );
            assert_eq!(
                with_floats(seen(&got)),
                with_floats(serde_json::to_value(&native).expect("plain data")),
                "{} {inputs:?}",
                entry.sheet.id
            );
            compared += 1;
        }
    }
    assert!(compared > 50);
}

#[wasm_bindgen_test]
fn nothing_given_means_the_defaults() {
    let with =
        |inputs: JsValue| seen(&calculate("output-power", inputs).expect("there is such a calculator"));
    assert_eq!(with(JsValue::UNDEFINED), with(object(&Inputs::new())));
    assert_eq!(with(JsValue::NULL)["problems"], json!({}));
}

#[wasm_bindgen_test]
fn what_cannot_be_worked_out_is_said() {
    let error = calculate("disipation", JsValue::UNDEFINED).expect_err("there is no such calculator");
    assert!(error.as_string().is_some_and(|text| text.contains("dissipation")), "{error:?}");
    for inputs in [JsValue::from(3), "38 mA".into(), js_sys::Array::of1(&3.into()).unchecked_into()] {
        assert!(calculate("dissipation", inputs).is_err());
    }
    let numbers = js_sys::Object::new();
    js_sys::Reflect::set(&numbers, &"cathode-current".into(), &0.034.into()).expect("an object takes it");
    assert!(calculate("dissipation", numbers.into()).is_err(), "a number has no unit: it must be a text");
}

#[wasm_bindgen_test]
fn the_catalogue_lists_every_calculator_with_its_fields() {
    let listed = seen(&catalogue().expect("a list"));
    let ids: Vec<&str> =
        listed.as_array().expect("a list").iter().filter_map(|entry| entry["id"].as_str()).collect();
    let known: Vec<&str> = calc_core::calculators().map(|entry| entry.sheet.id).collect();
    assert_eq!(ids, known);
    for entry in listed.as_array().expect("a list") {
        assert!(entry["fields"].as_array().is_some_and(|fields| !fields.is_empty()), "{entry}");
    }
}
