// The stages to choose from are those of the species; only eggs have a laying date.
const named = (id) => document.getElementById(id);
const [species, stage, laid, stages] = ["species", "stage", "laid-asked", "stages"].map(named);

function written(list) {
  return list.split(",").flatMap((word) => {
    const code = word.trim().replace(/\?$/, "");
    const run = /^([LN])(\d{1,2})-\1(\d{1,2})$/i.exec(code);
    if (!run) return code ? [code] : [];
    const count = Math.max(0, run[3] - run[2] + 1);
    return Array.from({ length: count }, (_, place) => `${run[1].toUpperCase()}${+run[2] + place}`);
  });
}

function offer() {
  const another = species.value === "another";
  named("stages-asked").hidden = !another;
  const codes = another ? written(stages.value) : (species.selectedOptions[0].dataset.stages || "").split(" ").filter(Boolean);
  const told = stage.value || stage.dataset.told;
  stage.replaceChildren(...(codes.length ? codes : ["egg"]).map((code) => new Option(code === "egg" ? "as eggs" : code, code)));
  if (codes.includes(told)) stage.value = told;
  laid.hidden = codes.length > 0 && stage.value !== codes[0];
}

for (const each of [species, stage, stages]) each.addEventListener("change", offer);
offer();
const trouble = document.querySelector(".trouble");
if (trouble) trouble.focus();
