// The stages to choose from are those of the species; only eggs have a laying date.
const [species, stage, laid] = ["species", "stage", "laid-asked"].map((id) => document.getElementById(id));

function offer() {
  const codes = (species.selectedOptions[0].dataset.stages || "").split(" ").filter(Boolean);
  const told = stage.value || stage.dataset.told;
  stage.replaceChildren(...(codes.length ? codes : ["egg"]).map((code) => new Option(code === "egg" ? "as eggs" : code, code)));
  if (codes.includes(told)) stage.value = told;
  laid.hidden = codes.length > 0 && stage.value !== codes[0];
}

species.addEventListener("change", offer);
stage.addEventListener("change", offer);
offer();
const trouble = document.querySelector(".trouble");
if (trouble) trouble.focus();
