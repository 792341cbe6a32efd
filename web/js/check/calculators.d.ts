// The functions of the module `calculators` (`web/src/api.rs`), as its JavaScript has them once it is built.

export default function start(): Promise<unknown>;
export function calculate(calculator: string, inputs: Record<string, string>): any;
export function catalogue(): any[];
