// Which day and which technicians are shown, in the table and on the map alike.

export interface Choice {
  day: string; // empty: the whole week
  technicians: Set<string>;
}

/** Follow the filter form; `onChange` is called at once and after every change. */
export function followFilter(form: HTMLFormElement, onChange: (choice: Choice) => void): void {
  const read = (): Choice => {
    const data = new FormData(form);
    return {
      day: String(data.get("day") ?? ""),
      technicians: new Set(data.getAll("technician").map(String)),
    };
  };
  form.addEventListener("change", () => onChange(read()));
  form.addEventListener("submit", (event) => event.preventDefault());
  onChange(read());
}

/** Whether a route of this technician and day is to be seen. */
export function passes(choice: Choice, technician: string, day: string): boolean {
  return (choice.day === "" || choice.day === day) && choice.technicians.has(technician);
}

/** Hide what the choice leaves out of the tables, days without a route included. */
export function filterTables(root: ParentNode, choice: Choice): void {
  for (const section of root.querySelectorAll<HTMLElement>("[data-route], [data-idle]")) {
    const { technician = "", day = "" } = section.dataset;
    section.hidden = !passes(choice, technician, day);
  }
  for (const day of root.querySelectorAll<HTMLElement>("[data-day-table]")) {
    day.hidden = [...day.querySelectorAll<HTMLElement>("[data-route], [data-idle]")].every((one) => one.hidden);
  }
}
