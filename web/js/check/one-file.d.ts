// What stands before `one-file.js` in the book that is one file.

declare const answerForLink: typeof import("../alive.js").answerForLink;
declare const mountAll: typeof import("../alive.js").mountAll;
declare const fillFind: typeof import("../find.js").fillFind;
declare let edition: Parameters<typeof fillFind>[1];
declare function calculate(calculator: string, inputs: Record<string, string>): any;
declare function initSync(of: { module: WebAssembly.Module }): unknown;
declare function mount(calculator: Element): void;
