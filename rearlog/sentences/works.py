"""The works that the methods come from, each once: what a docstring names, and a paper cites.

Titles, journals, volumes and pages were compared with reference lists of public code; a title that
was not found there is left out. Journals are abbreviated as everywhere in this project.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

MOST_AUTHORS = 2
"""Of more authors than this a citation names the first alone."""


@dataclass(frozen=True, slots=True)
class Work:
    """A published work: an article in a `journal`, or a book where that is None.

    `authors` are written “Family, I. N.”. `title` is None where it is not verified.
    """

    authors: tuple[str, ...]
    year: int
    title: str | None
    journal: str | None = None
    volume: int | None = None
    pages: str | None = None
    edition: int | None = None

    @property
    def families(self) -> tuple[str, ...]:
        """The family names of the authors."""
        return tuple(each.split(", ")[0] for each in self.authors)

    @property
    def cited(self) -> str:
        """How it is cited: Holm 1979, Kaplan & Meier 1958, Campbell et al. 1974."""
        families = self.families
        if len(families) > MOST_AUTHORS:
            return f"{families[0]} et al. {self.year}"
        return f"{' & '.join(families)} {self.year}"

    @property
    def reference(self) -> str:
        """The work in full, as a list of references has it."""
        told = [*self.authors[:-2], " & ".join(self.authors[-2:])]
        edition = f", {_ordinal(self.edition)} ed." if self.edition else ""
        parts = [f"{', '.join(told)} {self.year}"]
        parts += [f"{self.title}{edition}".rstrip(".")] if self.title else []
        if self.journal is not None:
            parts.append(f"{self.journal} {self.volume}:{self.pages}")
        return f"{'. '.join(parts)}."


def _ordinal(number: int) -> str:
    return {2: "2nd", 3: "3rd"}.get(number, f"{number}th")


def _article(authors: str, year: int, title: str | None, where: str) -> Work:
    """An article, `where` being as in “Biometrika 34:28–35”; authors are parted by semicolons."""
    journal, _, place = where.rpartition(" ")
    volume, _, pages = place.partition(":")
    return Work(tuple(authors.split("; ")), year, title, journal, int(volume), pages)


def _book(authors: str, year: int, title: str, edition: int | None = None) -> Work:
    return Work(tuple(authors.split("; ")), year, title, edition=edition)


_ALL = (
    _article(
        "Aalen, O. O.; Johansen, S.",
        1978,
        "An empirical transition matrix for non-homogeneous Markov chains based on censored "
        "observations",
        "Scand. J. Stat. 5:141–150",
    ),
    _book("Abramowitz, M.; Stegun, I. A.", 1964, "Handbook of Mathematical Functions"),
    _book("Aitchison, J.; Brown, J. A. C.", 1957, "The Lognormal Distribution"),
    _article(
        "Akaike, H.",
        1974,
        "A new look at the statistical model identification",
        "IEEE Trans. Autom. Control 19:716–723",
    ),
    _article(
        "Allen, J. C.",
        1976,
        "A modified sine wave method for calculating degree days",
        "Environ. Entomol. 5:388–396",
    ),
    _article(
        "Baskerville, G. L.; Emin, P.",
        1969,
        "Rapid estimation of heat accumulation from maximum and minimum temperatures",
        "Ecology 50:514–517",
    ),
    _book("Bellman, R.", 1957, "Dynamic Programming"),
    _article(
        "Birch, L. C.",
        1948,
        "The intrinsic rate of natural increase of an insect population",
        "J. Anim. Ecol. 17:15–26",
    ),
    _article(
        "Boag, J. W.",
        1949,
        "Maximum likelihood estimates of the proportion of patients cured by cancer therapy",
        "J. R. Stat. Soc. B 11:15–53",
    ),
    _book("Box, G. E. P.; Jenkins, G. M.", 1970, "Time Series Analysis"),
    _article(
        "Brière, J.-F.; Pracros, P.; Le Roux, A.-Y.; Pierre, J.-S.",
        1999,
        "A novel rate model of temperature-dependent development for arthropods",
        "Environ. Entomol. 28:22–29",
    ),
    _article(
        "Brookmeyer, R.; Crowley, J.",
        1982,
        "A confidence interval for the median survival time",
        "Biometrics 38:29–41",
    ),
    _article(
        "Brown, L. D.; Cai, T. T.; DasGupta, A.",
        2001,
        "Interval estimation for a binomial proportion",
        "Stat. Sci. 16:101–133",
    ),
    _book("Burnham, K. P.; Anderson, D. R.", 2002, "Model Selection and Multimodel Inference", 2),
    _article(
        "Cameron, A. C.; Gelbach, J. B.; Miller, D. L.",
        2011,
        "Robust inference with multiway clustering",
        "J. Bus. Econ. Stat. 29:238–249",
    ),
    _article(
        "Campbell, A.; Frazer, B. D.; Gilbert, N.; Gutierrez, A. P.; Mackauer, M.",
        1974,
        "Temperature requirements of some aphids and their parasites",
        "J. Appl. Ecol. 11:431–438",
    ),
    _book("Carey, J. R.", 1993, "Applied Demography for Biologists"),
    _article(
        "Chi, H.",
        1988,
        "Life-table analysis incorporating both sexes and variable development rates among "
        "individuals",
        "Environ. Entomol. 17:26–34",
    ),
    _article(
        "Chi, H.; Liu, H.",
        1985,
        "Two new methods for study of insect population ecology",
        "Bull. Inst. Zool. Acad. Sin. 24:225–240",
    ),
    _article("Chi, H.; Su, H.-Y.", 2006, None, "Environ. Entomol. 35:10–21"),
    _book("Cochran, W. G.", 1977, "Sampling Techniques", 3),
    _article(
        "Cohen, J.",
        1960,
        "A coefficient of agreement for nominal scales",
        "Educ. Psychol. Meas. 20:37–46",
    ),
    _article(
        "Cohen, J.",
        1968,
        "Weighted kappa: nominal scale agreement with provision for scaled disagreement or "
        "partial credit",
        "Psychol. Bull. 70:213–220",
    ),
    _book("Conover, W. J.", 1999, "Practical Nonparametric Statistics", 3),
    _article(
        "Cutler, S. J.; Ederer, F.",
        1958,
        "Maximum utilization of the life table method in analyzing survival",
        "J. Chron. Dis. 8:699–712",
    ),
    _article(
        "De Gruttola, V.; Lagakos, S. W.",
        1989,
        "Analysis of doubly-censored survival data, with application to AIDS",
        "Biometrics 45:1–11",
    ),
    _article(
        "DerSimonian, R.; Kacker, R.",
        2007,
        "Random-effects model for meta-analysis of clinical trials: an update",
        "Contemp. Clin. Trials 28:105–114",
    ),
    _article(
        "DerSimonian, R.; Laird, N.",
        1986,
        "Meta-analysis in clinical trials",
        "Control. Clin. Trials 7:177–188",
    ),
    _article(
        "Donner, A.",
        1986,
        "A review of inference procedures for the intraclass correlation coefficient in the "
        "one-way random effects model",
        "Int. Stat. Rev. 54:67–82",
    ),
    _article(
        "Dorey, F. J.; Korn, E. L.",
        1987,
        "Effective sample sizes for confidence intervals for survival probabilities",
        "Stat. Med. 6:679–687",
    ),
    _book("Draper, N. R.; Smith, H.", 1998, "Applied Regression Analysis", 3),
    _article("Dyar, H. G.", 1890, None, "Psyche 5:420–422"),
    _article(
        "Efron, B.",
        1987,
        "Better bootstrap confidence intervals",
        "J. Am. Stat. Assoc. 82:171–185",
    ),
    _book("Efron, B.; Tibshirani, R. J.", 1993, "An Introduction to the Bootstrap"),
    _article(
        "Fay, M. P.; Shih, J. H.",
        1998,
        "Permutation tests using estimated distribution functions",
        "J. Am. Stat. Assoc. 93:387–396",
    ),
    _article(
        "Fieller, E. C.",
        1954,
        "Some problems in interval estimation",
        "J. R. Stat. Soc. B 16:175–185",
    ),
    _article("Fisher, R. A.", 1921, None, "Ann. Appl. Biol. 7:367–372"),
    _book("Fisher, R. A.", 1930, "The Genetical Theory of Natural Selection"),
    _article(
        "Fleiss, J. L.; Cohen, J.; Everitt, B. S.",
        1969,
        "Large sample standard errors of kappa and weighted kappa",
        "Psychol. Bull. 72:323–327",
    ),
    _article(
        "Games, P. A.; Howell, J. F.",
        1976,
        "Pairwise multiple comparison procedures with unequal N’s and/or variances: a Monte Carlo "
        "study",
        "J. Educ. Stat. 1:113–125",
    ),
    _article(
        "Gardner, E. S.; McKenzie, E.",
        1985,
        "Forecasting trends in time series",
        "Manage. Sci. 31:1237–1246",
    ),
    _book(
        "Gelman, A.; Carlin, J. B.; Stern, H. S.; Dunson, D. B.; Vehtari, A.; Rubin, D. B.",
        2013,
        "Bayesian Data Analysis",
        3,
    ),
    _article(
        "Gentleman, R.; Geyer, C. J.",
        1994,
        "Maximum likelihood for interval censored data: consistency and computation",
        "Biometrika 81:618–623",
    ),
    _article("Hartley, H. O.", 1942, None, "Biometrika 32:334–348"),
    _article(
        "Hartung, J.; Knapp, G.",
        2001,
        "A refined method for the meta-analysis of controlled clinical trials with binary outcome",
        "Stat. Med. 20:3875–3889",
    ),
    _article(
        "Higgins, J. P. T.; Thompson, S. G.",
        2002,
        "Quantifying heterogeneity in a meta-analysis",
        "Stat. Med. 21:1539–1558",
    ),
    _article(
        "Higgins, J. P. T.; Thompson, S. G.; Spiegelhalter, D. J.",
        2009,
        "A re-evaluation of random-effects meta-analysis",
        "J. R. Stat. Soc. A 172:137–159",
    ),
    _article(
        "Holm, S.",
        1979,
        "A simple sequentially rejective multiple test procedure",
        "Scand. J. Stat. 6:65–70",
    ),
    _article(
        "Huber, P. J.",
        1964,
        "Robust estimation of a location parameter",
        "Ann. Math. Stat. 35:73–101",
    ),
    _article("Huey, R. B.; Berrigan, D.", 2001, None, "Am. Nat. 158:204–210"),
    _article(
        "Ikemoto, T.; Takai, K.",
        2000,
        "A new linearized formula for the law of total effective temperature and the evaluation of "
        "line-fitting methods with both variables subject to error",
        "Environ. Entomol. 29:671–682",
    ),
    _article(
        "Janssen, A.",
        1997,
        "Studentized permutation tests for non-i.i.d. hypotheses and the generalized "
        "Behrens–Fisher problem",
        "Stat. Probab. Lett. 36:9–21",
    ),
    _article(
        "Johansen, S.",
        1980,
        "The Welch–James approximation to the distribution of the residual sum of squares in a "
        "weighted linear regression",
        "Biometrika 67:85–92",
    ),
    _book(
        "Johnson, N. L.; Kotz, S.; Balakrishnan, N.",
        1994,
        "Continuous Univariate Distributions, vol. 1",
        2,
    ),
    _book(
        "Kalbfleisch, J. D.; Prentice, R. L.", 1980, "The Statistical Analysis of Failure Time Data"
    ),
    _book(
        "Kalbfleisch, J. D.; Prentice, R. L.",
        2002,
        "The Statistical Analysis of Failure Time Data",
        2,
    ),
    _article(
        "Kalman, R. E.",
        1960,
        "A new approach to linear filtering and prediction problems",
        "J. Basic Eng. 82:35–45",
    ),
    _article(
        "Kaplan, E. L.; Meier, P.",
        1958,
        "Nonparametric estimation from incomplete observations",
        "J. Am. Stat. Assoc. 53:457–481",
    ),
    _article(
        "Lactin, D. J.; Holliday, N. J.; Johnson, D. L.; Craigen, R.",
        1995,
        "Improved rate model of temperature-dependent development by arthropods",
        "Environ. Entomol. 24:68–75",
    ),
    _article(
        "Liang, K.-Y.; Zeger, S. L.",
        1986,
        "Longitudinal data analysis using generalized linear models",
        "Biometrika 73:13–22",
    ),
    _article(
        "Lindley, D. V.; Smith, A. F. M.",
        1972,
        "Bayes estimates for the linear model",
        "J. R. Stat. Soc. B 34:1–41",
    ),
    _article(
        "Lindsey, A. A.; Newman, J. E.",
        1956,
        "Use of official weather data in spring time: temperature analysis of an Indiana "
        "phenological record",
        "Ecology 37:812–823",
    ),
    _article(
        "Logan, J. A.; Wollkind, D. J.; Hoyt, S. C.; Tanigoshi, L. K.",
        1976,
        "An analytic model for description of temperature dependent rate phenomena in arthropods",
        "Environ. Entomol. 5:1133–1140",
    ),
    _article(
        "Lotka, A. J.",
        1907,
        "Relation between birth rates and death rates",
        "Science 26:21–22",
    ),
    _article(
        "Marquardt, D. W.",
        1963,
        "An algorithm for least-squares estimation of nonlinear parameters",
        "J. Soc. Ind. Appl. Math. 11:431–441",
    ),
    _article("May, R. M.", 1976, None, "Am. Nat. 110:496–499"),
    _book("Maybeck, P. S.", 1982, "Stochastic Models, Estimation, and Control, vol. 2"),
    _book("McCullagh, P.; Nelder, J. A.", 1989, "Generalized Linear Models", edition=2),
    _book("McLachlan, G. J.; Peel, D.", 2000, "Finite Mixture Models"),
    _article(
        "Meyer, J. S.; Ingersoll, C. G.; McDonald, L. L.; Boyce, M. S.",
        1986,
        None,
        "Ecology 67:1156–1166",
    ),
    _article(
        "Paule, R. C.; Mandel, J.",
        1982,
        "Consensus values and weighting factors",
        "J. Res. Natl. Bur. Stand. 87:377–385",
    ),
    _article(
        "Peto, R.",
        1973,
        "Experimental survival curves for interval-censored data",
        "J. R. Stat. Soc. C 22:86–91",
    ),
    _article(
        "Piepho, H.-P.",
        2004,
        "An algorithm for a letter-based representation of all-pairwise comparisons",
        "J. Comput. Graph. Stat. 13:456–466",
    ),
    _article(
        "Portugal, L. F.; Júdice, J. J.; Vicente, L. N.",
        1994,
        "A comparison of block pivoting and interior-point algorithms for linear least squares "
        "problems with nonnegative variables",
        "Math. Comput. 63:625–643",
    ),
    _article(
        "Ratkowsky, D. A.; Lowry, R. K.; McMeekin, T. A.; Stokes, A. N.; Chandler, R. E.",
        1983,
        "Model for bacterial culture growth rate throughout the entire biokinetic temperature "
        "range",
        "J. Bacteriol. 154:1222–1226",
    ),
    _article(
        "Röver, C.; Knapp, G.; Friede, T.",
        2015,
        "Hartung-Knapp-Sidik-Jonkman approach and its modification for random-effects "
        "meta-analysis with few studies",
        "BMC Med. Res. Methodol. 15:99",
    ),
    _article(
        "Satterthwaite, F. E.",
        1946,
        "An approximate distribution of estimates of variance components",
        "Biometrics Bull. 2:110–114",
    ),
    _article(
        "Schneeweiss, H.; Komlos, J.; Ahmad, A. S.",
        2010,
        "Symmetric and asymmetric rounding: a review and some new results",
        "AStA Adv. Stat. Anal. 94:247–271",
    ),
    _article("Schwarz, G.", 1978, "Estimating the dimension of a model", "Ann. Stat. 6:461–464"),
    _book("Seber, G. A. F.", 1982, "The Estimation of Animal Abundance", 2),
    _article(
        "Sharpe, P. J. H.; Curry, G. L.; DeMichele, D. W.; Cole, D. P.",
        1977,
        None,
        "J. Theor. Biol. 66:21–38",
    ),
    _article(
        "Shrout, P. E.; Fleiss, J. L.",
        1979,
        "Intraclass correlations: uses in assessing rater reliability",
        "Psychol. Bull. 86:420–428",
    ),
    _article(
        "Sidik, K.; Jonkman, J. N.",
        2002,
        "A simple confidence interval for meta-analysis",
        "Stat. Med. 21:3153–3159",
    ),
    _book("Sokal, R. R.; Rohlf, F. J.", 1995, "Biometry", 3),
    _article(
        "Spiegelhalter, D. J.",
        2005,
        "Funnel plots for comparing institutional performance",
        "Stat. Med. 24:1185–1202",
    ),
    _article(
        "Spitzer, R. L.; Fleiss, J. L.",
        1974,
        "A re-analysis of the reliability of psychiatric diagnosis",
        "Br. J. Psychiatry 125:341–347",
    ),
    _article("Student", 1908, None, "Biometrika 6:1–25"),
    _article(
        "Sun, J.",
        1996,
        "A non-parametric test for interval-censored failure time data with application to AIDS "
        "studies",
        "Stat. Med. 15:1387–1395",
    ),
    _article(
        "Tallis, G. M.",
        1961,
        "The moment generating function of the truncated multi-normal distribution",
        "J. R. Stat. Soc. B 23:223–229",
    ),
    _article(
        "Tierney, L.; Kadane, J. B.",
        1986,
        "Accurate approximations for posterior moments and marginal densities",
        "J. Am. Stat. Assoc. 81:82–86",
    ),
    _article("Tuan, S.-J.; Lee, C.-C.; Chi, H.", 2014, None, "Pest Manag. Sci. 70:805–813"),
    _article(
        "Turnbull, B. W.",
        1976,
        "The empirical distribution function with arbitrarily grouped, censored and truncated data",
        "J. R. Stat. Soc. B 38:290–295",
    ),
    _article("Varley, G. C.; Gradwell, G. R.", 1960, None, "J. Anim. Ecol. 29:399–401"),
    _article(
        "Viechtbauer, W.",
        2007,
        "Confidence intervals for the amount of heterogeneity in meta-analysis",
        "Stat. Med. 26:37–52",
    ),
    _article(
        "Viechtbauer, W.; Cheung, M. W.-L.",
        2010,
        "Outlier and influence diagnostics for meta-analysis",
        "Res. Synth. Methods 1:112–125",
    ),
    _article(
        "Wang, Y.",
        2008,
        "Dimension-reduced nonparametric maximum likelihood computation for interval-censored data",
        "Comput. Stat. Data Anal. 52:2388–2402",
    ),
    _article(
        "Wedderburn, R. W. M.",
        1974,
        "Quasi-likelihood functions, generalized linear models, and the Gauss–Newton method",
        "Biometrika 61:439–447",
    ),
    _article(
        "Welch, B. L.",
        1947,
        "The generalization of ‘Student’s’ problem when several different population variances are "
        "involved",
        "Biometrika 34:28–35",
    ),
    _article(
        "Welch, B. L.",
        1951,
        "On the comparison of several mean values: an alternative approach",
        "Biometrika 38:330–336",
    ),
    _article(
        "Wilson, E. B.",
        1927,
        "Probable inference, the law of succession, and statistical inference",
        "J. Am. Stat. Assoc. 22:209–212",
    ),
    _article(
        "Yang, S.; Logan, J.; Coffey, D. L.",
        1995,
        "Mathematical formulae for calculating the base temperature for growing degree days",
        "Agric. For. Meteorol. 74:61–74",
    ),
    _article(
        "Yin, X.; Kropff, M. J.; McLaren, G.; Visperas, R. M.",
        1995,
        "A nonlinear model for crop development as a function of temperature",
        "Agric. For. Meteorol. 77:1–16",
    ),
)

WORKS = {work.cited: work for work in _ALL}
"""All works by how they are cited, in the order of their authors."""


def works_named(text: str) -> tuple[Work, ...]:
    """The works that a text cites, in the order of WORKS.

    With `&` or `and`, all authors named or the first alone (`et al.`), the year in brackets or not.
    """
    told = " ".join(text.split())
    return tuple(work for work in WORKS.values() if _citation(work).search(told))


def of_works(citations: Iterable[str]) -> tuple[Work, ...]:
    """Works by how they are cited, each once, in the order of WORKS; KeyError where none is so."""
    asked = {WORKS[each].cited for each in citations}
    return tuple(work for name, work in WORKS.items() if name in asked)


@cache
def _citation(work: Work) -> re.Pattern[str]:
    *others, last = map(re.escape, work.families)
    every = "".join(f"{each},? +" for each in others) + (f"(?:&|and) +{last}" if others else last)
    short = f"|{others[0]} +et +al\\." if len(work.families) > MOST_AUTHORS else ""
    return re.compile(
        rf"(?<!\D & )(?<!\D and )(?<![\w-])(?:{every}{short}),? +\(?{work.year}(?!\d)"
    )
