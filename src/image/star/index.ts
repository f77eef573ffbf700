export {
  measureStar,
  type StarAstigmatism,
  type StarField,
  type StarReading,
  type StarRefusalReason,
  type StarRing,
} from './star-target.js';
