export { finishedSearch } from './finished-search.js';
export { stageWords } from './rejection.js';
export { type RequirementKey, requirements } from './requirements.js';

export { type SearchSlice, type SliceProgress, type SliceResult, searchSlice } from './search-slice.js';
export { combinationCount, type SearchSpace, searchSpaceOf } from './search-space.js';
