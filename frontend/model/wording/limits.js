// The limits of an answer in words: what the contract calls them stays as it is sent.
// `service/yardfall/sentences/limits.py` holds the same table for the planner's sentences.
export const LIMIT_WORDS = {
  "least cover": "minimum cover",
  "greatest depth": "maximum depth",
  "ground surface": "ground surface",
  "start cover": "cover at the start",
  "start depth": "depth at the start",
  "start invert": "invert at the start",
  "outlet depth": "depth at the outlet",
  "outlet invert": "invert at the outlet",
};

// A limit as people read it; a crossing or a branch goes by its own name.
export const limitWords = (limit) => LIMIT_WORDS[limit] ?? limit;

// The same with its article.
export const theLimit = (limit) => (limit in LIMIT_WORDS ? `the ${LIMIT_WORDS[limit]}` : limit);
